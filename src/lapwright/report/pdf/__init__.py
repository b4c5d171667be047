"""The report on paper: sheets of A4, drawn with the figures of the library."""
