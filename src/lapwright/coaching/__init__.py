"""What is worth trying, and what came of it: evidence, tests of two groups, before and after."""
