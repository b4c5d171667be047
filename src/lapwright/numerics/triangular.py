"""The inverse of a triangular matrix, by halves."""

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

# Below so many rows a plain inverse is as quick.
_SMALL = 48


def lower_inverse(lower: npt.NDArray[np.floating]) -> Floats:
    """
    Inverse of a lower triangular matrix.

    Parameters
    ----------
    lower : ndarray, shape (m, m)
        What is above its diagonal is not looked at.

    Returns
    -------
    ndarray, shape (m, m)
        With halves A and C on the diagonal and B below, ``[[A^-1, 0], [-C^-1 B A^-1, C^-1]]``
        (Golub and Van Loan, "Matrix Computations", sec. 3.1; from memory): a third of the work of a
        general inverse, nearly all of it products of matrices.
    """
    out = np.zeros(lower.shape)
    _invert(lower, out)
    return out


def _invert(lower: npt.NDArray[np.floating], out: Floats) -> None:
    m = len(lower)
    if m <= _SMALL:
        out[:] = np.tril(np.linalg.inv(np.tril(lower)))
        return
    h = m // 2
    _invert(lower[:h, :h], out[:h, :h])
    _invert(lower[h:, h:], out[h:, h:])
    out[h:, :h] = -(out[h:, h:] @ (lower[h:, :h] @ out[:h, :h]))
