"""Every flag has words, the same on every page and screen."""

import re
from pathlib import Path

from lapwright.laps import lap_flags
from lapwright.wording.flags import flag_list, flag_word, meanings


def test_every_flag_that_is_given_has_words() -> None:
    folder = Path(lap_flags.__file__).parent
    source = "".join(
        (folder / name).read_text(encoding="utf-8") for name in ("lap_flags.py", "lap_table.py")
    )
    given = set(re.findall(r'(?:flags\.append\(|return \[)"(\w+)"', source)) | {"slow"}
    assert len(given) == 9
    assert len(meanings(given)) == len(given)
    # A code with an underscore is no English word.
    assert not [flag for flag in given if "_" in flag_word(flag)]


def test_flags_are_listed_in_the_order_given() -> None:
    assert flag_list(("gap", "reversed")) == "gap in the log, went backwards"


def test_only_flags_that_occur_are_explained() -> None:
    assert [word for word, _ in meanings(["spin", "stop", "spin"])] == ["stopped", "spin"]
