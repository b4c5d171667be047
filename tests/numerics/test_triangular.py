"""The inverse of a triangular matrix against numpy's general one."""

import numpy as np
import pytest

from lapwright.numerics.triangular import lower_inverse


@pytest.mark.parametrize("size", [1, 47, 48, 49, 130])
def test_it_is_the_inverse(size: int) -> None:
    random = np.random.default_rng(size)
    lower = np.tril(random.normal(size=(size, size))) + 3.0 * np.sqrt(size) * np.eye(size)
    noise_above = lower + np.triu(random.normal(size=(size, size)), 1)
    found = lower_inverse(noise_above)
    np.testing.assert_allclose(found @ lower, np.eye(size), atol=1e-12)
    assert not np.triu(found, 1).any()
