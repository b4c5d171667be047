"""What is said of habits, of what was tried and of what would settle it."""
