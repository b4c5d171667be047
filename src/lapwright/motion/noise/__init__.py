"""What the errors of a receiver are: priors, and what the log says of each."""
