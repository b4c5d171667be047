"""The version, in one place, importable without anything else."""

__version__ = "0.1.0"
