"""A headless browser on a page of ours. Tests that need it are skipped, with the reason, where there is none."""

import json
import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

CHROMIUM = ("chromium", "chromium-browser", "google-chrome")


class Page:
    """One open page with the few things that the tests ask of it."""

    def __init__(self, driver: Any) -> None:
        self.driver = driver

    def open(self, what: Path | str, width: int = 1280, height: int = 900, dark: bool = False) -> None:
        self.set("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=False)
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.set("Emulation.setEmulatedMedia", features=[scheme])
        self.requests()
        self.complaints()  # what an earlier test's own scripts drew on itself is not this page's
        self.driver.get(what.as_uri() if isinstance(what, Path) else what)

    def set(self, command: str, **parameters: Any) -> Any:
        return self.driver.execute_cdp_cmd(command, parameters)

    def run(self, script: str, *arguments: Any) -> Any:
        return self.driver.execute_script(script, *arguments)

    def complaints(self) -> list[str]:
        """What stands on the browser's console since the last call."""
        return [entry["message"] for entry in self.driver.get_log("browser")]

    def requests(self) -> list[str]:
        """Addresses asked for since the last call."""
        messages = [json.loads(entry["message"])["message"] for entry in self.driver.get_log("performance")]
        return [m["params"]["request"]["url"] for m in messages if m["method"] == "Network.requestWillBeSent"]


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    webdriver = pytest.importorskip("selenium.webdriver", reason="selenium is not installed (pip install '.[test]')")
    program = next((found for name in CHROMIUM if (found := shutil.which(name))), None)
    helper = shutil.which("chromedriver")
    if program is None or helper is None:
        pytest.skip("no chromium with its chromedriver (Debian: apt-get install chromium chromium-driver)")
    options = webdriver.ChromeOptions()
    options.binary_location = program
    for argument in ("--headless=new", "--no-sandbox", "--disable-dev-shm-usage", "--disable-gpu"):
        options.add_argument(argument)
    options.add_argument(f"--user-data-dir={tmp_path_factory.mktemp('browser')}")
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(helper))
    yield Page(driver)
    driver.quit()


@pytest.fixture(scope="session")
def axe() -> str:
    """The accessibility audit's script: ``npm pack axe-core``, its place in FLATGEN_AXE."""
    path = Path(os.environ.get("FLATGEN_AXE", ""))
    if not path.is_file():
        pytest.skip("no axe-core: set FLATGEN_AXE to its axe.min.js (npm pack axe-core)")
    return path.read_text(encoding="utf-8")
