"""Sentences where no habit is shown: each figure named as what it is, nothing false, no dare."""

import re

import pytest
from shown import numbers_in
from worlds import World

from lapwright.coaching.no_habit.laps_needed import LapsNeeded
from lapwright.coaching.no_habit.quicker_third import Compared, QuickerThird
from lapwright.geometry import Corner
from lapwright.numerics.regression import Line
from lapwright.session.still_known import BestSector, Lost, SetAside, StillKnown, Varies
from lapwright.session.still_known import still_known as gathered
from lapwright.units import Units
from lapwright.wording.coaching.still_known import said, still_known

CORNERS = {
    1: Corner(1, "Gatehouse", "right", 300.0, 350.0, 400.0, 50.0),
    4: Corner(4, "4", "left", 900.0, 950.0, 1000.0, 50.0),
}
FIVE = StillKnown(
    8, lap=7, reference=3,
    lost=(Lost(1, "braking", 0.214, 0.031), Lost(0, "straight", 0.1, 0.02)),
    sector_lost=Lost(2, "", 0.355, 0.008),
    varies=(Varies(4, 0.184, 0.12, 0.38), Varies(1, 0.15, 0.1, 0.34)),
    quicker=(
        QuickerThird(
            4, (5, 2), 8,
            (
                Compared("brake_to_corner_m", 60.0, 57.0, 1.2),
                Compared("min_speed_mps", 20.0, 19.0, 0.2),
                Compared("throttle_station_m", 940.0, 945.0, 4.0),
                Compared("apex_aside_m", -0.84, 0.1, 0.3),
            ),
        ),
    ),
    needed=(LapsNeeded(4, "braking", 0.16, 0.09, 6, 0.08, "needed"),),
)  # fmt: skip


def words(known: StillKnown, units: str = "km/h", places: int | None = None) -> tuple[str, ...]:
    return said(known, CORNERS, Units.parse(units), places)


def test_all_of_it() -> None:
    lost, sector, varies, quicker, needed = words(FIVE)
    assert lost == (
        "Lap 7, a typical one, against lap 3, your best: taken one by one, what cost most, with "
        "what followed from it down the straight, was the braking for Gatehouse (1) "
        "(0.21 ± 0.03 s) and the speed it brought over the start line (0.10 ± 0.02 s). That is one "
        "lap against another, not what you usually do."
    )
    assert sector == (
        "Against your best sectors added up, a lap nobody drove, lap 7 lost most in sector 2: "
        "0.355 ± 0.008 s. The best of 8 is partly luck."
    )
    assert varies == (
        "Corner 4 varies most: its time varies by 0.18 s from lap to lap (0.12 to 0.38 s, 95 % "
        "interval, receiver's error taken out); at Gatehouse (1) by 0.15 s (0.10 to 0.34 s). Timed "
        "from this braking zone to the next."
    )
    # 20 and 1 m/s are 72.0 and 3.6 km/h; the throttle is 10 m before an apex at 950 m.
    assert quicker == (
        "Corner 4, what the quicker third did (laps 2 and 5; medians, in brackets the difference "
        "from the other 6): braking point 60.0 m before the corner (+3.0 m, sd 1.2); minimum speed "
        "72.0 km/h (+3.6 km/h, sd 0.7); throttle point 10 m before the apex (−5 m, sd 4); line at "
        "the "
        "apex 0.8 m to the right of your usual line (−0.9 m, sd 0.3). Beyond twice its sd: braking "
        "point, minimum speed, line at the apex. This describes those laps; it is not advice: "
        "quick laps always have something in common."
    )
    assert needed == (
        "Corner 4: cut in two by their braking points, your laps differ by 0.16 s (sd 0.09 s). So "
        "few "
        "laps could differ by that without a habit. If there is one, about six more clean laps "
        "like these would show it four times in five."
    )


def test_in_feet_and_miles() -> None:
    quicker = words(FIVE, "mph,ft")[3]
    # 60 m are 196.9 ft, with a bar of 3.9 ft 197; 20 m/s are 44.74 mph, with a bar of 0.45 44.7.
    assert "braking point 197 ft before" in quicker
    assert "minimum speed 44.7 mph" in quicker


@pytest.mark.parametrize(
    ("needed", "end"),
    [
        (
            LapsNeeded(4, "line", 0.03, 0.04, None, 0.06, "too_small"),
            "If that is all there is, more laps will not settle it: it is smaller than the 0.06 s "
            "that even 30 more would show four times in five.",
        ),
        (
            LapsNeeded(4, "throttle", 0.3, 0.04, None, 0.06, "one_way"),
            "so there is no telling whether more laps like these would settle it.",
        ),
        (
            LapsNeeded(0, "", float("nan"), float("nan"), 1, float("nan"), "few_laps"),
            "What would settle more: one more clean lap like these, for at least 6 are needed to "
            "test for a habit.",
        ),
    ],
)
def test_what_would_settle_it(needed: LapsNeeded, end: str) -> None:
    assert words(StillKnown(8, needed=(needed,)))[-1].endswith(end)


def test_two_laps() -> None:
    known = StillKnown(2, lap=1, reference=2)
    assert words(known) == (
        "Lap 1, the other one, against lap 2, your best: in no one place did it lose more than "
        "twice the ±.",
    )


def test_no_corner_varies_beyond_measuring() -> None:
    assert words(StillKnown(5)) == (
        "In no corner does your time vary from lap to lap by more than the receiver's error.",
    )


def test_no_clean_lap() -> None:
    aside = (
        SetAside(1, 110.1, 0.01, ("slow", "stop")), SetAside(2, 95.4, 0.01, ()),
    )  # fmt: skip
    known = StillKnown(0, aside=aside, sectors=(BestSector(1, 2, 24.513, 0.02),))
    first, sectors, advice = words(known)
    assert first == (
        "Laps set aside, and why: lap 1 (1:50.100): slow, stopped; lap 2 (1:35.400): off the pace "
        "of the others."
    )
    assert sectors == "Quickest all the same: sector 1 in 24.51 ± 0.02 s (lap 2)."
    assert advice.startswith("Next time: two laps or more in a row")


def test_one_clean_lap() -> None:
    assert words(StillKnown(1))[0] == "With one clean lap there is nothing to compare it with."


@pytest.mark.parametrize(
    ("slope", "end"),
    [
        (-0.8, "each was 0.80 s quicker than the one before on average (0.62 to 0.98 s, 95 % "
               "interval)."),
        (0.01, "there is no clear trend."),
    ],
)  # fmt: skip
def test_drying(slope: float, end: str) -> None:
    # Student's t for 8 degrees of freedom and 95 %: 2.306 (scipy.stats); 2.306 * 0.08 = 0.184.
    trend = Line(100.0, slope, 1.0, 0.08, 0.5, 10)
    (text,) = words(StillKnown(10, changing=True, trend=trend))
    assert text.startswith("The circuit changed")
    assert text.endswith(end)


def test_one_place_for_the_screen() -> None:
    two = StillKnown(8, needed=FIVE.needed * 2, quicker=FIVE.quicker * 2)
    assert len(words(two)) - len(words(two, places=1)) == 2


def test_of_a_session_each_number_is_the_tables(world: World) -> None:
    session = world.session
    known = gathered(session)
    assert known is not None
    texts = still_known(session)
    assert texts
    varies = session.variation.set_index("corner")["varies_s"]
    most = varies.idxmax()
    (text,) = [t for t in texts if "varies most" in t]
    assert text.startswith(f"Corner {most}")
    shown = [n.value for n in numbers_in(text) if not isinstance(n, str)]
    assert any(abs(n - varies[most]) <= 0.005 for n in shown)
    causes = session.compare(session.typical_lap).causes
    top = causes.nlargest(1, "lost_s").iloc[0]
    lost = re.search(r"\(([\d.]+) ± ([\d.]+) s\)", texts[0])
    assert lost is not None
    assert float(lost[1]) == pytest.approx(top["lost_s"], abs=0.0051)


def test_nothing_is_phrased_as_a_dare() -> None:
    for text in words(FIVE):
        assert not re.search(r"\b(should|could have|try|later|harder|brake|must)\b", text), text
