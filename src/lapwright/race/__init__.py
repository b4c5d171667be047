"""What a race is made of: the launch, stints, pit stops, laps held up, gaps to another car."""
