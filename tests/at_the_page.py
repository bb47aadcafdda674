"""What a person does at a page: waits for something, types into a field, presses a button."""

import time
from typing import Any

from browsing import Page

LATE = 60.0  # a busy machine's brake and cures [s]


def until(page: Page, script: str, *arguments: Any) -> Any:
    """What a script answers once it is something."""
    end = time.monotonic() + LATE
    while time.monotonic() < end:
        if found := page.run(f"try {{ {script} }} catch {{ return null }}", *arguments):
            return found
        time.sleep(0.05)
    raise AssertionError((script, page.run("return document.getElementById('main').innerText")))


def fill(page: Page, name: str, text: str, *, leave: bool = True) -> None:
    """Type into the field of a name or id; left, so that it is kept, or still in it."""
    page.run(
        "const f = document.getElementsByName(arguments[0])[0] || document.getElementById(arguments[0]);"
        "f.focus(); f.value = arguments[1]; f.dispatchEvent(new Event('input', {bubbles: true}));"
        "if (arguments[2]) f.dispatchEvent(new Event('change', {bubbles: true}));",
        name,
        text,
        leave,
    )


def press(page: Page, words: str) -> None:
    until(
        page,
        "const b = [...document.querySelectorAll('button')].find((b) => b.innerText.includes(arguments[0]));"
        "if (!b) return null; b.click(); return true;",
        words,
    )
