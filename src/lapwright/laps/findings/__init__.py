"""What the motion shows of the receiver and of the track file, as findings."""
