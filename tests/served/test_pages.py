"""Every page of the bench in a browser: whole at three widths, for those who cannot see it, with any text."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from browsing import Page
from serving import Served

PAGES = (
    "/",
    "/metal",
    "/sheets",
    "/brake",
    "/settings",
    "/nose",
    "/bends",
    "/tally",
    "/tally/part/OX-1",
    "/records",
    "/records/piece/OX-1",
    "/print",
    "/shop",
    "/text/job.toml",
    "/begin",
    "/begin/work",
    "/begin/brake",
    "/begin/bars",
    "/begin/cut",
    "/begin/sheets",
    "/begin/metal",
    "/begin/printer",
    "/part/new",
    "/part/0",
    "/profile/new",
)
WIDTHS = ((1280, False), (820, True), (390, False))


@pytest.fixture(scope="module")
def all_pages(tmp_path_factory: pytest.TempPathFactory, root: Path, serving: Callable[..., Served]) -> Served:
    folder = tmp_path_factory.mktemp("clips") / "job"
    shutil.copytree(root / "examples" / "first-clips", folder)
    return serving(folder / "job.toml")


def settle(browser: Page) -> None:
    """Wait until what takes longer has come."""
    from selenium.webdriver.support.ui import WebDriverWait

    script = "return document.readyState === 'complete' && !document.querySelector('[aria-busy]')"
    WebDriverWait(browser.driver, 60).until(lambda driver: driver.execute_script(script))


def audit(browser: Page, axe: str) -> list[str]:
    """What the accessibility audit finds, rule and first place each."""
    browser.set("Runtime.evaluate", expression=axe)  # as a debugger would: the page's policy lets no script in
    found = browser.set(
        "Runtime.evaluate",
        expression="axe.run(document).then(r => r.violations.map(v => v.id + ' ' + v.nodes[0].html.slice(0, 200)))",
        awaitPromise=True,
        returnByValue=True,
    )
    answer: list[str] = found["result"]["value"]
    return answer


@pytest.mark.parametrize(("width", "dark"), WIDTHS, ids=["desk", "tablet", "phone"])
def test_every_page_is_whole_and_accessible(all_pages: Served, browser: Page, axe: str, width: int, dark: bool) -> None:
    browser.open(all_pages.address)
    wrong: list[object] = []
    for path in PAGES:
        browser.open(all_pages.origin + path, width, 900, dark)
        settle(browser)
        over = browser.run("return document.documentElement.scrollWidth > document.documentElement.clientWidth")
        small = browser.run(
            "return [...document.querySelectorAll('button, a.button, nav a, summary, input, select')]"
            ".filter(e => e.getClientRects().length && !e.closest('.away') && !/checkbox|radio|hidden/.test(e.type))"
            ".filter(e => e.getBoundingClientRect().height < 43.5).map(e => e.outerHTML.slice(0, 80))"
        )
        said = [line for line in browser.complaints() if "favicon" not in line]
        titles = browser.run("return document.querySelectorAll('h1').length")
        if over or small or said or titles != 1:
            wrong.append((path, over, small[:3], said[:3], titles))
        wrong += [(path, one) for one in audit(browser, axe)]
    assert [] == wrong, wrong


MARKUP = "<img src=x onerror=document.title='taken'>\"'&{{7*7}}</textarea></script>"


def test_markup_in_every_field_stays_text(clips: Served, browser: Page) -> None:
    browser.open(clips.address)
    from selenium.webdriver.support.ui import WebDriverWait

    for path in ("/", "/shop", "/metal", "/begin/work", "/begin/bars"):
        browser.open(clips.origin + path)
        settle(browser)
        names = browser.run(
            "return [...document.querySelectorAll('form[data-live] input[name^=\"[\"]')].map(e => e.id)"
        )
        for name in names[:12]:
            browser.run(
                "const e = document.getElementById(arguments[0]); if (e) { e.value = arguments[1];"
                " e.dispatchEvent(new Event('change', {bubbles: true})); }",
                name,
                MARKUP,
            )
            settle(browser)
            typed = f"return document.getElementById('{name}')?.value"
            WebDriverWait(browser.driver, 20).until(lambda driver, typed=typed: driver.execute_script(typed) == MARKUP)
        assert "taken" != browser.run("return document.title")
        assert 0 == browser.run("return document.querySelectorAll('img, script:not([src])').length")
