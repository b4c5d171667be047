"""What came of the last try, in sentences."""

from lapwright.cli.previous import CameOfIt


def test_what_it_depends_on_is_said_first() -> None:
    came = CameOfIt(
        "friday.csv", said=("Quicker.",), caveats=("If the same driver drove.",),
        remarks=("Changed.",),
    )  # fmt: skip
    assert came.texts == ("If the same driver drove.", "Quicker.", "Changed.")
