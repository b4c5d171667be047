"""`show`: what can be shown, and in which units."""

from pathlib import Path

import pytest
from markupsafe import escape

import lapwright as lw
from lapwright import settings
from lapwright.notebook.show import Shown
from lapwright.session import Session
from lapwright.wording.coaching.still_known import still_known


@pytest.fixture(autouse=True)
def nothing_remembered(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Settings of one's own, of which there are none yet."""
    monkeypatch.setattr(settings, "user_file", lambda: tmp_path / "lapwright.toml")
    return tmp_path


def test_a_result_shows_what_show_shows(session: Session) -> None:
    comparison = session.compare(2, 3)
    for result in (session, comparison):
        shown = lw.show(result)
        assert shown._repr_html_() == shown.html == result._repr_html_()
        assert "speed [km/h]" in shown.html
    # A `Shown` does not print itself where somebody looks at it as text.
    assert repr(lw.show(comparison)) == "Shown()"


def test_units_that_are_asked_for(session: Session) -> None:
    html = lw.show(session.compare(2, 3), "mph,ft").html
    assert "speed [mph]" in html
    assert "distance after the start line [ft]" in html
    assert "km/h" not in html
    with pytest.raises(ValueError, match=r"'furlong' is not a unit of speed"):
        lw.show(session, "furlong")


def test_units_remembered_beside_the_log_come_first(
    session: Session, nothing_remembered: Path
) -> None:
    comparison = session.compare(2, 3)
    settings.remember_units(lw.Units("m/s"), nothing_remembered / "lapwright.toml")
    assert "speed [m/s]" in comparison._repr_html_()
    beside = session.log.path.parent / "lapwright.toml"
    settings.remember_units(lw.Units("mph"), beside)
    try:
        assert "speed [mph]" in comparison._repr_html_()
        assert "top speed [mph]" in session._repr_html_()
        assert "speed [km/h]" in lw.show(comparison, lw.Units()).html
    finally:
        beside.unlink()


def test_a_log_is_refused(session: Session) -> None:
    with pytest.raises(TypeError, match=r"nothing to show of a Log; give a Session, a Comparison"):
        lw.show(session.log)  # type: ignore[arg-type]


def test_shown_again_it_is_the_same(session: Session) -> None:
    assert lw.show(session) == lw.show(session)
    assert lw.show(session) != Shown("")


def test_where_nothing_is_worth_trying_a_cell_says_what_the_laps_show(session: Session) -> None:
    texts = still_known(session)
    assert texts
    cell = lw.show(session).html
    assert [text for text in texts if str(escape(text)) not in cell] == []
