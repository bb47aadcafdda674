"""Make the README's pictures of the bench page: ``python examples/bench_pictures.py`` (wants chromium and selenium)."""

import asyncio
import shutil
import tempfile
import threading
import time
from pathlib import Path
from typing import Any

from selenium import webdriver
from selenium.webdriver.support.ui import WebDriverWait

from flatgen.jobs.tallying import cut_sheet, entered, tally_place
from flatgen.model.tally import Event
from flatgen.served.start import Asked, Opened, serving

ROOT = Path(__file__).resolve().parent.parent
PICTURES = ROOT / "out" / "pictures"
# picture: page, width and height of the window [px]
SHOTS = {
    "bench-job": ("/", 1280, 1000),
    "bench-part": ("/part/1", 1280, 1250),
    "bench-brake": ("/begin/brake", 820, 1000),
    "bench-tally": ("/tally/part/OX-1", 390, 844),
}
READY = "return document.readyState === 'complete' && !document.querySelector('[aria-busy]')"


def begun(job: Path) -> None:
    """A sheet is cut, and some of its blanks are bent."""
    from flatgen.jobs.again import make_again

    make_again(job, job.parent / "out")
    cut_sheet(tally_place(job), "1", None, job.parent / "out", "R")
    entered(tally_place(job), [Event("bent", "OX-1", 9, "b1"), Event("good", "OX-1", 6)])


def browser() -> Any:
    """Chromium without a window."""
    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or ""
    for argument in ("--headless=new", "--no-sandbox", "--disable-gpu", "--hide-scrollbars"):
        options.add_argument(argument)
    return webdriver.Chrome(options=options, service=webdriver.ChromeService(shutil.which("chromedriver")))


def take(at: Opened) -> None:
    """Every picture, once its page is whole."""
    driver = browser()
    driver.get(at.address)
    for name, (path, wide, tall) in SHOTS.items():
        size = {"width": wide, "height": tall, "deviceScaleFactor": 1, "mobile": False}
        driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
        driver.get(at.address.partition("/?")[0] + path)
        WebDriverWait(driver, 120).until(lambda driver: driver.execute_script(READY))
        time.sleep(3.0)  # what the scripts draw by themselves
        driver.save_screenshot(str(PICTURES / f"{name}.png"))
    driver.quit()


async def main() -> None:
    """Serve a copy of the first clips, picture its pages, end."""
    with tempfile.TemporaryDirectory() as scratch:
        job = Path(shutil.copytree(ROOT / "examples" / "first-clips", Path(scratch) / "clips")) / "job.toml"
        begun(job)
        ready: asyncio.Future[Opened] = asyncio.get_running_loop().create_future()
        page = asyncio.create_task(serving(Asked(job), ready.set_result))
        at = await ready
        done = asyncio.Event()
        loop = asyncio.get_running_loop()

        def work() -> None:
            try:
                take(at)
            finally:
                loop.call_soon_threadsafe(done.set)

        threading.Thread(target=work).start()
        await done.wait()
        page.cancel()
        await asyncio.gather(page, return_exceptions=True)


if __name__ == "__main__":
    asyncio.run(main())
