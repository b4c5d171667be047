"""What `.ci/benchmark.py` is made of: logs, processes, figures, and the page they are shown on."""
