"""A headless Chromium to look at a page with: started fresh, with everything it says kept."""

import json
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip


def missing() -> str:
    """Say what there is no browser test without; empty where all is there."""
    if not (shutil.which("chromium") or shutil.which("chromium-browser")):
        return "there is no Chromium (Debian: apt-get install chromium)"
    if not shutil.which("chromedriver"):
        return "there is no chromedriver (Debian: apt-get install chromium-driver)"
    return ""


@contextmanager
def browser(width: int = 1366, height: int = 900, *, dark: bool = False) -> Iterator[Any]:
    """Start a browser of its own, with a window of that size."""
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or shutil.which("chromium-browser") or ""
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    with TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        for flag in (*FLAGS, f"--user-data-dir={folder}"):
            options.add_argument(flag)
        # The path is given, or the driver would be looked for on the network.
        service = Service(shutil.which("chromedriver"))
        driver = webdriver.Chrome(options=options, service=service)
        try:
            size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 600}
            driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
            scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
            driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [scheme]})
            yield driver
        finally:
            driver.quit()


def requests(driver: Any) -> list[str]:
    """Every address the page asked for since the last look."""
    said = [json.loads(entry["message"])["message"] for entry in driver.get_log("performance")]
    return [
        m["params"]["request"]["url"] for m in said if m["method"] == "Network.requestWillBeSent"
    ]


def address(path: Path) -> str:
    """Address of a file."""
    return path.resolve().as_uri()
