"""Typed with real keys: nothing is lost while an answer is on its way, and the focus stays where the hand is."""

import time
import tomllib

from at_the_page import LATE, until
from browsing import Page
from serving import Served


def parts(at: Served) -> list[dict]:
    return tomllib.loads((at.folder / "job.toml").read_text(encoding="utf-8"))["part"]


def at_last(at: Served, right) -> None:
    end = time.monotonic() + LATE
    while not right(parts(at)) and time.monotonic() < end:
        time.sleep(0.05)
    assert right(parts(at)), parts(at)


def test_a_row_typed_without_a_pause(browser: Page, clips: Served) -> None:
    from selenium.webdriver.common.action_chains import ActionChains
    from selenium.webdriver.common.keys import Keys

    browser.open(clips.address)
    browser.run("document.getElementById('f-part-1-title').focus()")
    keys = ActionChains(browser.driver)
    for text in ("long clip", "angle", "12", "6061-T6", "0.040 in"):
        keys.key_down(Keys.CONTROL).send_keys("a").key_up(Keys.CONTROL).send_keys(text, Keys.TAB).pause(0.05)
    keys.perform()
    wanted = {"title": "long clip", "quantity": 12, "material": "6061-T6", "thickness": "0.040 in"}
    at_last(clips, lambda found: wanted.items() <= found[1].items())
    assert "f-part-1-radius" == until(browser, "return document.activeElement.id")
    ActionChains(browser.driver).send_keys("3 mm").perform()
    file = clips.folder / "job.toml"  # a hand changes another part while the field is typed into
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("quantity = 16", "quantity = 20"), encoding="utf-8")
    shown = "return document.getElementById('f-part-0-quantity').value === '20'"
    told = "document.getElementById('news').innerText.includes('job.toml')"
    until(browser, f"{shown} || {told}")
    assert "3 mm" == browser.run("return document.getElementById('f-part-1-radius').value")
    ActionChains(browser.driver).send_keys("\t").perform()
    at_last(clips, lambda found: found[1].get("radius") == "3 mm" and found[0]["quantity"] == 20)


def test_undo_by_its_key_and_every_control_by_tab(browser: Page, clips: Served) -> None:
    from selenium.webdriver.common.action_chains import ActionChains
    from selenium.webdriver.common.keys import Keys

    browser.open(clips.address)
    browser.run("document.getElementById('f-part-0-quantity').focus()")
    select = ActionChains(browser.driver).key_down(Keys.CONTROL).send_keys("a").key_up(Keys.CONTROL)
    select.send_keys("17", Keys.TAB).perform()
    at_last(clips, lambda found: found[0]["quantity"] == 17)
    browser.run("document.activeElement.blur()")
    until(browser, "return document.querySelector('form[action=\"/undo\"] button:not(:disabled)') && true")
    ActionChains(browser.driver).key_down(Keys.CONTROL).send_keys("z").key_up(Keys.CONTROL).perform()
    at_last(clips, lambda found: found[0]["quantity"] == 16)
    browser.open(clips.origin + "/shop")
    reached = set()
    for _ in range(160):
        ActionChains(browser.driver).send_keys(Keys.TAB).perform()
        reached.add(browser.run("return document.activeElement.id || document.activeElement.innerText"))
    wanted = browser.run(
        "return [...document.querySelectorAll('main input:not([type=hidden]), main select, main button, main a')]"
        ".filter(e => e.checkVisibility() && !e.closest('details:not([open])')).map(e => e.id || e.innerText)"
    )
    assert set() == set(wanted) - reached
