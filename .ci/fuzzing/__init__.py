"""Coverage-guided fuzzing of all that reads a file of the user's."""
