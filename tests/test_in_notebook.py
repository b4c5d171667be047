"""Results ask for nothing but to be shown; who shows them is imported when one is."""

import subprocess
import sys

import pytest

from lapwright import in_notebook
from lapwright.batch import Weekend
from lapwright.in_notebook import ShowsItself, shown_by
from lapwright.laps.comparison import Comparison
from lapwright.session import Session


def test_the_last_one_named_shows(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(in_notebook, "_shows", [])
    shown_by(lambda _: "first")
    shown_by(lambda result: f"a {type(result).__name__}")
    assert ShowsItself()._repr_html_() == "a ShowsItself"


@pytest.mark.parametrize("kind", [Session, Comparison, Weekend])
def test_these_show_themselves(kind: type) -> None:
    assert issubclass(kind, ShowsItself)


def test_importing_the_package_imports_nothing_that_draws() -> None:
    # In a Python of its own, which has imported nothing yet.
    code = (
        "import sys, lapwright; "
        "print(sorted(m for m in sys.modules if m.split('.')[0] in "
        "('lapwright', 'jinja2', 'matplotlib', 'pandas', 'numpy', 'IPython')))"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert eval(run.stdout) == ["lapwright", "lapwright._version", "lapwright.in_notebook"]
