"""A cell in a real browser: alive, shut in, offline; and what is left without scripts or frames."""

import re
from collections.abc import Iterator
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from browser import address, browser, missing, requests

import lapwright as lw
from lapwright.session import Session

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(bool(missing()), reason=missing()),
]

PHONE, LAPTOP = 400, 1366
PAGE = '<!doctype html><meta charset="utf-8"><meta name="viewport" content="width=device-width">'


@pytest.fixture(scope="module")
def page(session: Session, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two cells on a page, as in a notebook."""
    path = tmp_path_factory.mktemp("cells") / "notebook.html"
    cells = lw.show(session).html + lw.show(session.compare(2, 3)).html
    path.write_text(f"{PAGE}<body>{cells}", encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def shared(page: Path) -> Iterator[Any]:
    with browser(LAPTOP) as driver:
        yield driver


@pytest.fixture
def loaded(shared: Any, page: Path) -> Any:
    shared.get(address(page))
    return shared


def frames(driver: Any) -> list[Any]:
    return driver.find_elements("css selector", "iframe")


def trace(driver: Any, label: str) -> Any:
    return driver.find_element("css selector", f'.plot[aria-label^="{label}"]')


def point_at_the_speed(driver: Any, frame: Any) -> str:
    """Point at the middle of the speed's trace, and say what the frame says."""
    from selenium.webdriver import ActionChains

    driver.execute_script("arguments[0].scrollIntoView({block: 'center'})", frame)
    driver.switch_to.frame(frame)
    ActionChains(driver).move_to_element(trace(driver, "Speed along the lap")).perform()
    return driver.find_element("id", "readout").text


def test_both_frames_are_alive_and_apart(loaded: Any, session: Session) -> None:
    first, second = frames(loaded)
    said = point_at_the_speed(loaded, first)
    half = session.track.length_m / 2.0
    # One pixel of the trace is some metres of the lap.
    assert float(said.split(" m")[0]) == pytest.approx(half, abs=5.0)
    assert f"lap {session.best_lap} " in said
    assert re.search(r"delta [+\N{MINUS SIGN}]?\d\.\d+ ± \d\.\d+ s", said)
    marked = loaded.find_elements("css selector", ".here[visibility=visible]")
    assert len(marked) == 1
    loaded.switch_to.default_content()
    loaded.switch_to.frame(second)
    assert loaded.find_elements("css selector", ".here[visibility=visible]") == []
    loaded.switch_to.default_content()
    said = point_at_the_speed(loaded, second)
    assert "lap 3 " in said
    assert "lap 2 " in said


def test_the_readout_is_the_comparison(loaded: Any, session: Session) -> None:
    from selenium.webdriver import Keys

    loaded.switch_to.frame(frames(loaded)[1])
    delta = trace(loaded, "Delta of lap 2 to lap 3")
    loaded.execute_script("arguments[0].focus()", delta)
    delta.send_keys(Keys.END)
    said = loaded.find_element("id", "readout").text
    value = float(said.split("delta ")[1].split(" ")[0].replace("\N{MINUS SIGN}", "-"))
    true = session.compare(2, 3).time_difference_s
    # Whole milliseconds, shown with three decimals at most, two where the bar is wider.
    assert value == pytest.approx(true, abs=0.006)


def test_another_lap_can_be_chosen(loaded: Any, session: Session) -> None:
    from selenium.webdriver.support.ui import Select

    loaded.switch_to.frame(frames(loaded)[0])
    choice = Select(loaded.find_elements("css selector", ".tools select")[-1])
    others = [option.get_attribute("value") for option in choice.options]
    assert set(others) == {str(n) for n in session.clean_laps} - {str(session.best_lap)}
    new = next(n for n in others if n != str(session.typical_lap))
    choice.select_by_value(new)
    assert loaded.find_element("css selector", ".compared").text == f"lap {new}"


def test_nothing_is_asked_for_and_nothing_breaks_out(page: Path) -> None:
    with browser(LAPTOP) as driver:
        driver.get("about:blank")
        requests(driver)
        driver.get(address(page))
        asked = {one for one in requests(driver) if not one.startswith(("data:", "about:"))}
        assert asked == {address(page)}
        assert driver.get_log("browser") == []
        assert driver.execute_script("return window.broken") is None
        driver.switch_to.frame(frames(driver)[0])
        # It cannot look at the notebook it stands in.
        reach = "try { return top.document.title } catch (error) { return error.name }"
        assert driver.execute_script(reach) == "SecurityError"


@pytest.mark.parametrize(
    ("width", "dark"),
    [
        (PHONE, False),
        (900, True),
        *(
            pytest.param(width, dark, marks=pytest.mark.thorough)
            for width, dark in product((PHONE, 620, 900, LAPTOP), (False, True))
            if (width, dark) not in ((PHONE, False), (900, True))
        ),
    ],
)
def test_a_frame_is_as_high_as_what_is_in_it(page: Path, width: int, dark: bool) -> None:
    with browser(width, dark=dark) as driver:
        driver.get(address(page))
        for frame in frames(driver):
            driver.switch_to.frame(frame)
            high, shown, wide, room, back = driver.execute_script(
                "const e = document.documentElement; return ["
                "document.body.getBoundingClientRect().height, innerHeight, "
                "e.scrollWidth, innerWidth, getComputedStyle(document.body).backgroundColor]"
            )
            # Nothing is cut off, and no more than a hand's breadth of the screen is left empty.
            assert high <= shown <= high + 110
            assert wide <= room
            assert (sum(map(int, re.findall(r"\d+", back)[:3])) < 3 * 128) is dark
            driver.switch_to.default_content()
        assert driver.execute_script("return document.documentElement.scrollWidth") <= width


def test_without_scripts_the_picture_stands(page: Path, tmp_path: Path) -> None:
    # A frame that lets no script in, as where scripts are off.
    path = tmp_path / "off.html"
    path.write_text(page.read_text(encoding="utf-8").replace("allow-scripts", ""), "utf-8")
    with browser(LAPTOP) as driver:
        driver.get(address(path))
        driver.switch_to.frame(frames(driver)[0])
        drawn = driver.find_elements("css selector", ".plot .curve, .plan .curve")
        assert len(drawn) >= 5
        assert all(one.rect["width"] > 100 for one in drawn)
        # Buttons that would do nothing are not there.
        assert not driver.find_element("css selector", ".tools").is_displayed()
        assert not driver.find_element("id", "readout").is_displayed()


def test_where_frames_are_taken_out_a_picture_is_left(page: Path, tmp_path: Path) -> None:
    # What a notebook that is not trusted does: forbidden tags go, what is in them stays.
    text = page.read_text(encoding="utf-8")
    path = tmp_path / "untrusted.html"
    path.write_text(re.sub(r"</?iframe[^>]*>", "", text), encoding="utf-8")
    with browser(LAPTOP) as driver:
        driver.get(address(path))
        pictures = driver.find_elements("css selector", ".lapwright img")
        assert len(pictures) == 2
        for one in pictures:
            # Zero where the browser cannot read it.
            assert driver.execute_script("return arguments[0].naturalWidth", one) > 800
            assert one.get_attribute("alt").startswith("Plan of Hollow")


def test_no_frame_no_picture_twice(loaded: Any) -> None:
    assert loaded.find_elements("css selector", ".lapwright img") == []
