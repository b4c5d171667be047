"""Sums that know nothing of cars: linear systems, sampling, splines, distributions, runs."""
