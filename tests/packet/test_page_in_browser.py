"""The packet's page as a browser shows it: nothing fetched, no complaint, ticks kept, narrow screens, paper, audit."""

import base64
import re
import subprocess
import time
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from flatgen.cli import flatgen
from flatgen.write import page_parts

SECTIONS = ("summary", "test-bends", "parts", "findings", "tally", "settings", "sheets", "files", "cautions")
UNFOLD = "for (const d of document.querySelectorAll('details')) d.open = true"
LETTER, A4 = (8.5, 11.0), (8.27, 11.69)


@pytest.fixture
def page(browser, demo):
    browser.open(demo.folder / "index.html")
    browser.run(UNFOLD)
    return browser


def test_all_sections_and_no_complaint(page) -> None:
    assert list(SECTIONS) == page.run("return [...document.querySelectorAll('main > section')].map((s) => s.id)")
    page.run("for (const c of document.querySelectorAll('canvas')) c.scrollIntoView()")
    time.sleep(0.3)
    assert [] == page.complaints()


def test_nothing_is_fetched(page, demo) -> None:
    """Not even on a press of every button; and the page's policy would forbid it."""
    page.run("window.confirm = () => false; for (const b of document.querySelectorAll('button')) b.click()")
    asked = [url for url in page.requests() if not url.startswith(("data:", "blob:"))]
    assert [(demo.folder / "index.html").as_uri()] == asked
    policy = page.run("return document.querySelector('meta[http-equiv=Content-Security-Policy]').content")
    assert "default-src 'none'" in policy and "unsafe-eval" not in policy
    assert "blocked" == page.run("return fetch('https://example.org/').then(() => 'sent', () => 'blocked')")
    page.complaints()  # the browser says that it blocked that


def test_ticks_and_counts_survive_a_reload_and_are_exported(page) -> None:
    page.run("localStorage.clear()")
    page.driver.refresh()
    page.run(UNFOLD)
    box = page.driver.find_element("css selector", "#settings input[type=checkbox]")
    page.run("arguments[0].scrollIntoView()", box)
    box.click()
    more = page.driver.find_element("css selector", "#settings [data-step='1']")
    more.click()
    more.click()
    page.driver.refresh()
    state = "return [document.querySelector('#settings input[type=checkbox]').checked,"
    state += " document.querySelector('#settings .count input').value]"
    assert [True, "2"] == page.run(state)
    saved = page.run(
        "let text; URL.createObjectURL = (b) => { text = b.text(); return 'blob:x'; };"
        "HTMLAnchorElement.prototype.click = () => {};"
        "document.getElementById('export').click(); return text.then(JSON.parse)"
    )
    assert [True, 2] == [row["value"] for row in saved["entries"] if row["value"]]
    assert saved["entries"][0]["where"] and saved["digest"] and saved["job"]
    keys = page.run("return [...document.querySelectorAll('[data-keep]:not([type=text])')].map((f) => f.dataset.keep)")
    assert keys == [row["key"] for row in saved["entries"]]


def test_a_count_stays_between_none_and_all(page) -> None:
    page.run("localStorage.clear()")
    page.driver.refresh()
    page.run(UNFOLD)
    said = (
        "const i = document.querySelector('#settings .count input'); i.value = arguments[0];"
        "i.dispatchEvent(new Event('change')); return [Number(i.value), Number(i.max)]"
    )
    value, most = page.run(said, "9999")
    assert most == value > 0
    assert 0 == page.run(said, "-3")[0]


def test_ticks_are_kept_by_job_so_that_a_reprint_finds_them(page, demo) -> None:
    keys = page.run("document.querySelector('#settings input').click(); return Object.keys(localStorage)")
    assert [f"flatgen-bench-{demo.results['job']}"] == keys


def test_a_tapped_piece_names_its_part(page, demo) -> None:
    for k, nest in enumerate(demo.results["nests"], 1):
        last = len(nest["placements"]) - 1
        said = page.run(
            "const n = document.querySelector(`.nest[data-nest='${arguments[0]}']`);"
            "const p = n.querySelectorAll('.piece')[arguments[1]];"
            "p.dispatchEvent(new MouseEvent('click', { bubbles: true })); return n.querySelector('output').textContent",
            k,
            last,
        )
        placement = nest["placements"][last]
        assert said.startswith(placement["part"] + " ") and f"piece {placement['copy']}," in said


def test_a_real_tap_hits_the_piece_that_is_drawn_there(page, demo) -> None:
    """The picture is in the right place: what lies under the middle of a blank is that blank."""
    nest = demo.results["nests"][0]
    frame = page.driver.find_element("css selector", ".nest[data-nest='1'] .sheet")
    page.run("arguments[0].scrollIntoView({ block: 'center' })", frame)
    first = nest["placements"][0]
    x, y = page.run(
        "const b = document.querySelector(\".nest[data-nest='1'] .piece\").getBoundingClientRect();"
        "return [b.x + b.width / 2, b.y + b.height / 2]"
    )
    # SVG counts down: the sheet's low left corner is the picture's
    low = page.run(
        "const b = arguments[0].querySelector('.stock').getBoundingClientRect(); return [b.x, b.bottom]", frame
    )
    scale = page.run("return arguments[0].querySelector('.stock').getBoundingClientRect().width", frame)
    scale /= nest["sheet"]["width"]
    blank = next(part for part in demo.results["parts"] if part["id"] == first["part"])["blank"]
    assert x - low[0] <= (first["x"] + blank["width"] + blank["height"]) * scale
    for kind in ("mousePressed", "mouseReleased"):
        page.set("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", clickCount=1)
    said = page.run("return document.querySelector(\".nest[data-nest='1'] output\").textContent")
    assert said.startswith(first["part"] + " ")


def test_nests_by_keyboard_and_zoom(page) -> None:
    frame = page.driver.find_element("css selector", ".nest[data-nest='1'] .sheet")
    before = page.run("return arguments[0].querySelector('.stock').getBoundingClientRect().width", frame)
    frame.send_keys("\ue014")  # right arrow
    first = page.run("return arguments[0].parentElement.querySelector('output').textContent", frame)
    frame.send_keys("\ue014")
    assert "piece" in first != page.run("return arguments[0].parentElement.querySelector('output').textContent", frame)
    frame.send_keys("+")
    assert page.run("return arguments[0].querySelector('.stock').getBoundingClientRect().width", frame) > before
    page.run("arguments[0].parentElement.querySelector('[data-zoom=fit]').click()", frame)
    assert before == pytest.approx(
        page.run("return arguments[0].querySelector('.stock').getBoundingClientRect().width", frame), abs=1
    )


DOTS = """
const c = document.querySelectorAll('.formed canvas')[arguments[0]];
const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data;
const seen = new Set(); let n = 0, sum = 0;
for (let i = 0; i < d.length; i += 4) if (d[i + 3]) { n++; seen.add(d[i]); sum += (i / 4) * d[i] % 9973; }
return [n, seen.size, sum];
"""


def shown(page, k: int) -> list[int]:
    page.run("document.querySelectorAll('.formed canvas')[arguments[0]].scrollIntoView({ block: 'center' })", k)
    for _ in range(40):
        time.sleep(0.05)
        dots = page.run(DOTS, k)
        if dots[0]:
            return dots
    return dots


def test_formed_part_is_drawn_and_turns_under_mouse_and_keys(page) -> None:
    count, shades, start = shown(page, 0)
    assert count > 2000 and shades > 3, "several faces, each in its own light"
    x, y = page.run(
        "const b = document.querySelector('.formed canvas').getBoundingClientRect();"
        "return [b.x + b.width / 2, b.y + b.height / 2]"
    )
    for kind, dx in (("mousePressed", 0), ("mouseMoved", 40), ("mouseMoved", 80), ("mouseReleased", 80)):
        page.set("Input.dispatchMouseEvent", type=kind, x=x + dx, y=y, button="left", buttons=1, clickCount=1)
    time.sleep(0.4)
    turned = page.run(DOTS, 0)[2]
    assert turned != start
    canvas = page.driver.find_element("css selector", ".formed canvas")
    canvas.send_keys("\ue011")  # Home sets it back
    time.sleep(0.4)
    assert start == page.run(DOTS, 0)[2]
    canvas.send_keys("\ue015")  # down
    time.sleep(0.4)
    assert start != page.run(DOTS, 0)[2]


@pytest.mark.parametrize("width", [360, 768, 1280])
def test_no_sideways_scrolling(browser, demo, width: int) -> None:
    browser.open(demo.folder / "index.html", width=width, height=780)
    browser.run(UNFOLD)
    assert browser.run("const e = document.documentElement; return e.scrollWidth <= e.clientWidth")
    wide = browser.run(
        "return [...document.querySelectorAll('table, figure, dl, p, li, button, input')].filter((e) => {"
        "const b = e.getBoundingClientRect(); return b.width && (b.right > innerWidth + 1 || b.left < -1)})"
        ".filter((e) => !e.closest('.sheet') && !e.closest('.skip')).map((e) => e.outerHTML.slice(0, 80))"
    )
    assert [] == wide


def test_buttons_are_large_enough_for_a_thumb(browser, demo) -> None:
    """44 px a side, WCAG 2.2, 2.5.5 (target size, enhanced)."""
    browser.open(demo.folder / "index.html", width=360, height=780)
    small = browser.run(
        "return [...document.querySelectorAll('button')].filter((b) => b.offsetParent && "
        "(b.offsetHeight < 44 || b.offsetWidth < 44)).map((b) => b.textContent)"
    )
    assert [] == small


@pytest.mark.parametrize("paper", [LETTER, A4], ids=["letter", "a4"])
def test_print_has_no_clipped_table(browser, demo, paper: tuple[float, float], tmp_path: Path) -> None:
    """The page as the printer gets it: every word of every table is inside the paper's margins."""
    browser.open(demo.folder / "index.html")
    made = browser.set("Page.printToPDF", paperWidth=paper[0], paperHeight=paper[1], preferCSSPageSize=False)
    data = base64.b64decode(made["data"])
    assert data.startswith(b"%PDF")
    words, size = words_of(data, tmp_path)
    assert size == pytest.approx((paper[0] * 72, paper[1] * 72), abs=1.5)
    out = [w for w in words if w[0] < 20 or w[2] > size[0] - 20 or w[1] < 20 or w[3] > size[1] - 12]
    assert [] == out
    printed = {w[4] for w in words}
    for part in demo.results["parts"]:
        assert part["id"] in printed
    assert sum(1 for w in words if w[4].startswith("GAUGE")) > 50, "folded lists of cuts are printed too"


def words_of(data: bytes, folder: Path) -> tuple[list[tuple[float, float, float, float, str]], tuple[float, float]]:
    """Words with their boxes in points, read by a general-purpose PDF reader."""
    try:
        (folder / "print.pdf").write_bytes(data)
        command = ["pdftotext", "-bbox", str(folder / "print.pdf"), "-"]
        text = subprocess.run(command, capture_output=True, check=True).stdout.decode()
    except FileNotFoundError:
        pytest.skip("no pdftotext (Debian: apt-get install poppler-utils)")
    size = re.search(r'<page width="([\d.]+)" height="([\d.]+)"', text)
    assert size is not None
    word = r'<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">(.*?)</word>'
    words = [(*map(float, found[:4]), found[4]) for found in re.findall(word, text)]
    return words, (float(size[1]), float(size[2]))


AUDIT = """
const done = arguments[arguments.length - 1];
axe.run(document, { resultTypes: ['violations'] }).then((r) => done(r.violations.map((v) =>
  [v.impact, v.id, v.nodes.slice(0, 3).map((n) => n.html.slice(0, 120))])), (e) => done([['critical', String(e), []]]));
"""


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("width", [360, 390, 1280])
def test_accessibility_audit(browser, demo, axe: str, dark: bool, width: int) -> None:
    """axe-core finds nothing, not even minor: names, contrast, order of headings, landmarks, scrolling by keyboard."""
    browser.open(demo.folder / "index.html", width=width, dark=dark)
    browser.set("Runtime.evaluate", expression=axe)
    browser.driver.set_script_timeout(120)
    found: list[Any] = browser.driver.execute_async_script(AUDIT)
    assert [] == found


def test_without_scripts_the_pictures_are_there(browser, demo) -> None:
    browser.set("Emulation.setScriptExecutionDisabled", value=True)
    try:
        browser.open(demo.folder / "index.html")
        pictures = browser.driver.find_elements("css selector", "#parts summary svg, #test-bends summary svg")
        assert len([part for part in demo.results["parts"] if not part["stopped"]]) == len(pictures)
        assert pictures[0].is_displayed()
    finally:
        browser.set("Emulation.setScriptExecutionDisabled", value=False)


def test_the_closed_page_is_short_on_a_phone_and_begins_with_pictures(browser, demo) -> None:
    """At most 20 screens of 390 by 844; the first picture on the first or second."""
    browser.open(demo.folder / "index.html", width=390, height=844)
    tall = browser.run("return document.documentElement.scrollHeight")
    first = browser.run("return document.querySelector('main svg').getBoundingClientRect().bottom")
    assert tall <= 20 * 844 and first <= 2 * 844


def test_what_differs_from_what_was_printed_is_marked(page) -> None:
    """As if the card of one part and the page of one setting had been others when it was printed."""
    marks = "return [...document.querySelectorAll('.reprint')].map((m) => m.closest('section').id)"
    page.run("localStorage.clear()")
    page.driver.refresh()
    assert [] == page.run(marks)
    page.driver.find_element("id", "printed").click()
    change = "const k = Object.keys(localStorage).find((key) => key.endsWith('-printed'));"
    change += "const was = JSON.parse(localStorage.getItem(k)); was['TF-103'] += 1;"
    change += (
        "was[Object.keys(was).find((n) => n.startsWith('Setting'))] += 1; localStorage.setItem(k, JSON.stringify(was))"
    )
    page.run(change)
    page.driver.refresh()
    assert ["parts", "settings"] == page.run(marks)
    page.driver.find_element("id", "printed").click()
    assert [] == page.run(marks)


def test_in_a_job_of_many_parts_a_card_is_made_when_it_is_opened(browser, root, tmp_path, monkeypatch) -> None:
    """By a press, by a link to it and for the printer; ticks and counts are there as ever."""
    monkeypatch.setattr(page_parts, "MANY", 3)
    job = str(root / "examples" / "first-clips" / "job.toml")
    assert CliRunner().invoke(flatgen, ["make", job, "--out", str(tmp_path / "out")]).exit_code == 0
    browser.open(tmp_path / "out" / "index.html")
    cards = "return document.querySelectorAll('#parts article').length"
    assert 0 == browser.run(cards)
    browser.run("document.querySelector('#parts details').open = true")
    time.sleep(0.2)
    assert 1 == browser.run(cards) and browser.run("return document.querySelector('#parts article svg') !== null")
    last = browser.run(
        "return [...document.querySelectorAll('#parts script')].at(-2).textContent.match(/id=\"([^\"]+)/)[1]"
    )
    browser.run("location.hash = arguments[0]", last)
    time.sleep(0.2)
    assert 2 == browser.run(cards) and browser.run(
        "return document.getElementById(arguments[0]).checkVisibility()", last
    )
    browser.run("dispatchEvent(new Event('beforeprint'))")
    assert 6 == browser.run(cards) and [] == browser.complaints()
