"""The version, in one place, importable without anything else."""

__version__ = "0.2.0.dev0"
