"""What cannot belong to the drive: times and places far from the rest, measures of no car."""
