"""
Many small linear systems side by side: the arithmetic of the filters in this room.

Arrays carry the systems on their *last* axis ("lanes"), so that one numpy call works on one entry
of all matrices at once, in order of memory.  Matrices that are mostly zeros, as transitions are,
are kept by their entries; measurements are taken one at a time, so that no system is ever solved.
Measured against stacked matrices and `numpy.matmul`, a filter step is four times quicker.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
# One row of a matrix by its entries: column and value in every lane, None for exactly one.
Row = tuple[tuple[int, Floats | None], ...]


@dataclass(frozen=True, eq=False)
class Entries:
    """
    Matrices by the entries that are not zero everywhere.

    Attributes
    ----------
    shape : (int, int)
        Of each matrix.
    values : dict
        From (row, column) to an array of shape (n,), or (..., n) after `to_blocks`.
    """

    shape: tuple[int, int]
    values: dict[tuple[int, int], Floats]

    @classmethod
    def of(cls, dense: Floats) -> "Entries":
        """Take the entries of matrices of shape (n, i, j)."""
        _, rows, columns = dense.shape
        places = [(i, j) for i in range(rows) for j in range(columns)]
        return cls((rows, columns), {p: dense[:, p[0], p[1]] for p in places if dense[:, *p].any()})

    def dense(self, count: int) -> Floats:
        """Return them as matrices of shape (count, i, j)."""
        out = np.zeros((count, *self.shape))
        for (i, j), value in self.values.items():
            out[:, i, j] = value
        return out

    def twice(self) -> "Entries":
        """Two equal systems side by side in one of twice the size."""
        rows, columns = self.shape
        again = {(i + rows, j + columns): v for (i, j), v in self.values.items()}
        return Entries((2 * rows, 2 * columns), self.values | again)

    def rows(self) -> tuple[Row, ...]:
        """Return the entries row by row, ones marked as such."""
        table: list[list[tuple[int, Floats | None]]] = [[] for _ in range(self.shape[0])]
        for (i, j), value in sorted(self.values.items(), key=lambda item: item[0]):
            table[i].append((j, None if (value == 1.0).all() else value))
        return tuple(tuple(row) for row in table)


def at_step(rows: tuple[Row, ...], j: int) -> tuple[Row, ...]:
    """Rows whose values have a leading axis of steps, at one step."""
    return tuple(tuple((c, None if v is None else v[j]) for c, v in row) for row in rows)


def combine(row: Row, x: Floats) -> Floats:
    """One row times x, shape (k, ..., b) to (..., b)."""
    out: Floats | None = None
    for column, value in row:
        term = x[column] if value is None else x[column] * value
        out = term.copy() if out is None and value is None else term if out is None else out + term
    return np.zeros(x.shape[1:]) if out is None else out


def apply(rows: tuple[Row, ...], x: Floats) -> Floats:
    """Matrices by rows times x, shape (k, ..., b) to (len(rows), ..., b)."""
    out = np.zeros((len(rows), *x.shape[1:]))
    for i, row in enumerate(rows):
        for n, (column, value) in enumerate(row):
            if value is None:
                out[i] += x[column]
            elif n == 0:
                np.multiply(x[column], value, out=out[i])
            else:
                out[i] += x[column] * value
    return out


def predict(rows: tuple[Row, ...], process: tuple[Row, ...], cov: Floats) -> tuple[Floats, Floats]:
    """``F P``, and the predicted covariance ``F P F' + Q``, each of shape (k, k, b)."""
    fp = apply(rows, cov)
    # (F (F P)')' = F P F', which is its own transpose but for rounding.
    ahead = apply(rows, fp.swapaxes(0, 1))
    ahead = ahead + ahead.swapaxes(0, 1)
    ahead *= 0.5
    for i, row in enumerate(process):
        for j, value in row:
            ahead[i, j] += 1.0 if value is None else value
    return fp, ahead


def take_in(
    row: Row, var: Floats, value: Floats, mean: Floats, cov: Floats
) -> tuple[Floats, Floats, Floats]:
    """
    Take in one measurement in every lane, changing mean and covariance in place.

    Parameters
    ----------
    row : Row
        What is measured of the state.
    var : ndarray, shape (b,)
        Its variance, ``inf`` where there is none.
    value : ndarray, shape (c, b)
        Finite everywhere.
    mean : ndarray, shape (k, c, b)
    cov : ndarray, shape (k, k, b)

    Returns
    -------
    precision : ndarray, shape (b,)
        Of the innovation, 0 where there is no measurement.
    gain : ndarray, shape (k, b)
    innovation : ndarray, shape (c, b)
    """
    ph = combine(row, cov)
    precision = np.reciprocal(combine(row, ph) + var)
    innovation = value - combine(row, mean)
    gain = ph * precision
    mean += gain[:, None] * innovation
    # As a square, so that the covariance stays symmetric to the last bit.
    ph *= np.sqrt(precision)
    cov -= ph[:, None] * ph
    return precision, gain, innovation


def log_fit(precision: Floats, innovation: Floats) -> Floats:
    """Log likelihood of one measurement in every lane but for the powers of 2 pi, shape (b,)."""
    c = len(innovation)
    log_precision = np.log(np.where(precision > 0.0, precision, 1.0))
    return np.asarray(
        0.5 * c * log_precision - 0.5 * precision * np.einsum("cb,cb->b", innovation, innovation)
    )


def transpose(matrices: npt.NDArray[np.floating]) -> Floats:
    """Swap the last two axes of matrices that lie one behind the other."""
    return np.asarray(matrices.swapaxes(-1, -2), dtype=np.float64)


def times(left: Floats, right: Floats) -> Floats:
    """Matrix product in every lane, shapes (i, j, b) and (j, k, b)."""
    return np.asarray(np.einsum("ijb,jkb->ikb", left, right))


def sandwich(left: Floats, middle: Floats) -> Floats:
    """``L M L'`` in every lane, symmetric, shape (k, k, b)."""
    out = np.einsum("ikb,lkb->ilb", times(left, middle), left)
    out = out + out.swapaxes(0, 1)
    out *= 0.5
    return np.asarray(out)


def solve_positive(matrix: Floats, right: Floats) -> Floats:
    """
    Solve positive definite systems in every lane.

    Parameters
    ----------
    matrix : ndarray, shape (k, k, b)
        Positive definite, so that elimination needs no pivots (Golub and Van Loan, "Matrix
        Computations", sec. 4.2).  Overwritten.
    right : ndarray, shape (k, j, b)
        Overwritten by the solution.

    Returns
    -------
    ndarray, shape (k, j, b)
    """
    k = len(matrix)
    inverse = np.empty((k, matrix.shape[-1]))
    for p in range(k):
        np.reciprocal(matrix[p, p], out=inverse[p])
        factor = matrix[p, p + 1 :] * inverse[p]
        for q in range(p + 1, k):
            # Only the upper triangle is kept up.
            matrix[q, q:] -= factor[q - p - 1] * matrix[p, q:]
        right[p + 1 :] -= factor[:, None] * right[p]
    for p in range(k - 1, -1, -1):
        if p < k - 1:
            right[p] -= np.einsum("qb,qjb->jb", matrix[p, p + 1 :], right[p + 1 :])
        right[p] *= inverse[p]
    return right


@dataclass(frozen=True, eq=False)
class Blocked:
    """
    A sequence of ``n`` matrices cut into blocks that lie side by side.

    Attributes
    ----------
    data : ndarray, shape (length, k, k, count) or, packed, (length, k (k + 1) / 2, count)
        Element i is step ``i % length`` of block ``i // length``.  Symmetric matrices are packed:
        their lower triangles only.
    n : int
    """

    data: Floats
    n: int

    def __len__(self) -> int:
        return self.n

    @property
    def packed(self) -> bool:
        """Whether only lower triangles are stored."""
        return self.data.ndim == 3

    def __getitem__(self, i: npt.NDArray[np.intp]) -> Floats:
        """Matrices of some elements, shape (len(i), k, k)."""
        block, step = np.divmod(i, len(self.data))
        if not self.packed:
            return np.asarray(self.data[step, :, :, block])
        return unpack(self.data[step, :, block].T).transpose(2, 0, 1)

    def step(self, j: int) -> Floats:
        """Matrices of step j of every block, shape (k, k, count)."""
        return unpack(self.data[j]) if self.packed else self.data[j]

    def steps(self) -> Iterator[Floats]:
        """Step by step."""
        return (self.step(j) for j in range(len(self.data)))

    def diagonal(self, i: int) -> Floats:
        """One diagonal entry of every element, shape (n,)."""
        values = self.data[:, i * (i + 3) // 2] if self.packed else self.data[:, i, i]
        return values.T.ravel()[: self.n]


def to_blocks(array: Floats, length: int, pad: float) -> Floats:
    """Cut a sequence into blocks side by side: shape (n, ...) to (length, ..., count)."""
    count = -(-len(array) // length)
    out = np.full((count * length, *array.shape[1:]), pad)
    out[: len(array)] = array
    return np.ascontiguousarray(np.moveaxis(out.reshape(count, length, *array.shape[1:]), 0, -1))


def from_blocks(array: Floats, n: int) -> Floats:
    """Put blocks behind each other again: shape (length, ..., count) to (n, ...)."""
    flat = np.moveaxis(array, -1, 0)
    return np.ascontiguousarray(flat.reshape(-1, *flat.shape[2:])[:n])


@lru_cache
def _triangle(k: int) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    i, j = np.tril_indices(k)
    return i, j


def pack(matrices: Floats) -> Floats:
    """Lower triangles of symmetric matrices, shape (k, k, b) to (k (k + 1) / 2, b)."""
    return np.asarray(matrices[_triangle(len(matrices))])


def unpack(triangles: Floats) -> Floats:
    """Reverse of `pack`."""
    k = int(np.sqrt(2 * len(triangles)))
    out = np.empty((k, k, triangles.shape[-1]))
    i, j = _triangle(k)
    out[i, j] = triangles
    out[j, i] = triangles
    return out
