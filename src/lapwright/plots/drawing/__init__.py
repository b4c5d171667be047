"""What all figures share: style, colours, units on the axes, corners under a curve."""
