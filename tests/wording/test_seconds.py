"""Times in sentences: digits by the error, ± for the receiver's alone."""

import pytest

from lapwright.wording.seconds import seconds, seconds_with_error, seconds_with_spread


@pytest.mark.parametrize(
    ("value", "sd", "said"),
    [(0.1234, 0.04, ("0.12 s", "0.04 s")), (0.1234, 0.004, ("0.123 s", "0.004 s"))],
)
def test_no_finer_than_the_error(value: float, sd: float, said: tuple[str, str]) -> None:
    assert seconds(value, sd) == said
    assert seconds_with_error(value, sd) == f"{said[0][:-2]} ± {said[1]}"
    assert seconds_with_spread(value, sd) == f"{said[0]} (sd {said[1]})"
    assert "±" not in seconds_with_spread(value, sd)
