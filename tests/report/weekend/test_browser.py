"""The page in a real browser: offline, accessible, nothing over the edge, on paper too."""

from pathlib import Path

import pytest
from browser import address, browser, missing, requests

from lapwright.report.weekend.data import WeekendData
from lapwright.report.weekend.page import write_page
from lapwright.units import Units

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(bool(missing()), reason=missing()),
]

PHONE, LAPTOP = 390, 1366
# A4 (ISO 216: 210 mm) less two margins of 13 mm, in CSS pixels of 1/96 inch.
PAPER = round((210 - 2 * 13) / 25.4 * 96)


@pytest.fixture(scope="module")
def page(weekend: WeekendData, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_page(weekend, tmp_path_factory.mktemp("page") / "weekend.html", Units())


def test_opens_without_network_or_complaint(page: Path) -> None:
    with browser(LAPTOP) as driver:
        driver.get("about:blank")
        requests(driver)
        driver.get(address(page))
        assert requests(driver) == [address(page)]
        assert driver.get_log("browser") == []
        assert driver.execute_script("return window.broken") is None


@pytest.mark.parametrize(("width", "dark"), [(PHONE, False), (LAPTOP, True)])
def test_no_serious_accessibility_violation(page: Path, width: int, dark: bool) -> None:
    import axe_core_python

    source = next(Path(axe_core_python.__file__).parent.rglob("axe.min.js"))
    with browser(width, dark=dark) as driver:
        driver.get(address(page))
        driver.execute_script(source.read_text(encoding="utf-8"))
        driver.set_script_timeout(120)
        result = driver.execute_async_script("axe.run().then(arguments[arguments.length - 1])")
    bad = [v for v in result["violations"] if v["impact"] in ("serious", "critical")]
    assert [(v["id"], [n["target"] for n in v["nodes"]][:3]) for v in bad] == []
    # It did look: colour contrast among the rest.
    assert "color-contrast" in {v["id"] for v in result["passes"]}


@pytest.mark.parametrize("width", [PHONE, LAPTOP, PAPER])
def test_nothing_runs_over_the_edge_and_letters_can_be_read(page: Path, width: int) -> None:
    with browser(width) as driver:
        if width == PAPER:
            driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
        driver.get(address(page))
        root = "document.documentElement"
        assert driver.execute_script(f"return {root}.scrollWidth <= {root}.clientWidth")
        if width == PAPER:
            # On paper nothing can be scrolled to.
            over = driver.execute_script(
                "return Array.from(document.querySelectorAll('table')).filter("
                "t => t.getBoundingClientRect().right > document.body.clientWidth + 1).length"
            )
            assert over == 0
            return
        small = driver.execute_script(
            "return Math.min(...Array.from(document.querySelectorAll('.plot text')).map("
            "t => parseFloat(getComputedStyle(t).fontSize)))"
        )
        assert small >= 12.0


def test_what_can_be_scrolled_is_reached_by_the_tab_key(page: Path) -> None:
    with browser(PHONE) as driver:
        driver.get(address(page))
        boxes = driver.find_elements("css selector", ".scroll")
        assert boxes
        for box in boxes:
            assert box.get_dom_attribute("tabindex") == "0"
            assert box.get_dom_attribute("aria-label")


def test_the_best_lap_of_a_session_is_seen_without_scrolling(page: Path) -> None:
    with browser(PHONE) as driver:
        driver.get(address(page))
        right, width = driver.execute_script(
            "const box = document.querySelector('.sessions-table').parentElement;"
            "const cell = box.querySelector('tbody tr td');"
            "const left = box.getBoundingClientRect().left;"
            "return [cell.getBoundingClientRect().right - left, box.clientWidth];"
        )
    assert right <= width
