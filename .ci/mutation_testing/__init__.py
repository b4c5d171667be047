"""What `.ci/mutation.py` is made of: the mutants, and their trials."""
