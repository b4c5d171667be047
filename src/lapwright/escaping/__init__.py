"""
Text of users in what is written: one place for each kind of output.

What a person typed or a file says (names, notes, cells, file names) is text and never mark-up,
a formula, a command to a terminal or a way out of a folder.
"""
