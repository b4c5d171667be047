"""The tables of a weekend, put together from what was found in each log."""
