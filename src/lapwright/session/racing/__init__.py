"""What a race is made of, as a part of a session."""
