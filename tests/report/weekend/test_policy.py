"""What the weekend page's Content-Security-Policy keeps out: every script, for it has none."""

from pathlib import Path

import pytest
from browser import address, browser, missing

from lapwright.report.weekend.data import WeekendData
from lapwright.report.weekend.page import html
from lapwright.units import Units

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(bool(missing()), reason=missing()),
]

INJECTED = (
    "<script>window.broken = 1</script>",
    '<img src="data:," onerror="window.broken = 1">',
    '<iframe srcdoc="<script>parent.broken = 1</script>"></iframe>',
)


def test_no_script_that_got_in_would_run(weekend: WeekendData, tmp_path: Path) -> None:
    head, tail = html(weekend, Units()).split("</header>", 1)
    begin = head.index('<meta http-equiv="Content-Security-Policy"')
    bare = head[:begin] + head[head.index(">", begin) + 1 :]
    file = tmp_path / "weekend.html"
    with browser() as driver:
        # Without the policy each of them would: the test can fail.
        for start, broken in ((head, None), (bare, 1)):
            for mark_up in INJECTED:
                file.write_text(f"{start}</header>{mark_up}{tail}", encoding="utf-8")
                driver.get(address(file))
                assert driver.execute_script("return window.broken") == broken, mark_up
