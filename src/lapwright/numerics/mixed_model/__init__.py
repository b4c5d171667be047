"""A mean that groups share, with scatter between them and correlated scatter within them."""

from lapwright.numerics.mixed_model.integrated import Estimate, Fit, Prior, fit
from lapwright.numerics.mixed_model.restricted_likelihood import Data, Nodes, nodes

__all__ = ["Data", "Estimate", "Fit", "Nodes", "Prior", "fit", "nodes"]
