"""The linear Gaussian state-space model of a car and its receiver, and its exact smoother."""
