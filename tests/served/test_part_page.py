"""A part's page in a browser: typed, pointed at, wrong in the picture, cured by a button; the file says the same."""

import shutil
import time
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from at_the_page import LATE, fill, press, until
from browsing import Page
from serving import Served

from flatgen.jobs.loading import load


def flags(page: Page) -> str:
    """The words on the picture of what is wrong."""
    return str(
        page.run("return [...document.querySelectorAll('#flat .on-fault text')].map((t) => t.textContent).join('; ')")
    )


def data(served: Served) -> dict[str, Any]:
    return tomllib.loads((served.folder / "job.toml").read_text(encoding="utf-8"))


def saved(served: Served, right: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
    end = time.monotonic() + LATE
    while not right(found := data(served)) and time.monotonic() < end:
        time.sleep(0.05)
    return found


@pytest.fixture
def page(browser: Page, clips: Served) -> Page:
    browser.open(clips.address)
    return browser


def test_an_unequal_angle_with_six_holes_is_cured_by_its_button(page: Page, clips: Served) -> None:
    remarks = [line for line in (clips.folder / "job.toml").read_text(encoding="utf-8").splitlines() if "#" in line]
    page.driver.get(f"{clips.origin}/part/new")
    press(page, "Two legs and one bend")
    row = len(until(page, "return location.pathname.match(/part.(\\d+)$/)")) and len(data(clips)["part"]) - 1
    fill(page, f'["part", {row}, "leg_a"]', "1 1/4")
    fill(page, f'["part", {row}, "leg_b"]', "19 mm")
    fill(page, f'["part", {row}, "length"]', "6 in")
    saved(clips, lambda found: found["part"][row].get("length") == "6 in")
    for name, text in {
        "face": "leg_a",
        "edge": "bottom",
        "size": "1/8",
        "distance": "3/16",
        "ends": "1/2",
        "count": "6",
    }.items():
        fill(page, name, text)
    press(page, "Add these holes")
    until(page, "return document.querySelectorAll('#flat .on-fault circle, #flat .on-fault path').length >= 6")
    assert "hole to edge" in flags(page)
    press(page, "holes 1 from the edge: 9/32 in, not 3/16")
    until(page, "return !document.querySelector('#flat .on-fault')?.textContent.includes('hole to edge') || null")
    part = saved(clips, lambda found: found["part"][row]["holes"][0]["edge_distance"] == "9/32 in")["part"][row]
    assert (part["leg_a"], part["leg_b"], part["holes"][0]["count"]) == ("1 1/4", "19 mm", 6)
    after = (clips.folder / "job.toml").read_text(encoding="utf-8")
    assert all(line in after for line in remarks)
    assert len(load(clips.folder / "job.toml").parts[-1].holes) == 6


def test_what_cannot_be_stays_in_its_field_with_its_sentence(page: Page, clips: Served) -> None:
    before = (clips.folder / "job.toml").read_bytes()
    page.driver.get(f"{clips.origin}/part/0")
    picture = until(page, "return document.querySelector('#flat svg')?.outerHTML")
    name = '["part", 0, "leg_b"]'
    fill(page, name, "3/4 blue", leave=False)
    until(page, "return document.querySelector('#describe .sentence:not([hidden])')?.innerText.includes('blue')")
    assert page.run("return document.querySelector('#flat svg').outerHTML") == picture
    fill(page, name, "1 3/8", leave=False)
    until(page, "return document.querySelector('#flat svg').outerHTML != arguments[0] || null", picture)
    assert not page.run("return document.querySelector('#describe .sentence:not([hidden])')")
    assert (clips.folder / "job.toml").read_bytes() == before, "typing alone writes nothing"


def test_holes_that_cannot_be_stay_in_their_form_with_the_sentence(page: Page, clips: Served) -> None:
    before = (clips.folder / "job.toml").read_bytes()
    page.driver.get(f"{clips.origin}/part/0")
    until(page, "return document.querySelector('#flat .targets')")
    for name, text in {"face": "leg_b", "edge": "free", "size": "blue", "distance": "3/8", "count": "3"}.items():
        fill(page, name, text, leave=name in ("face", "edge"))
    press(page, "Add these holes")
    until(page, "return document.querySelector('#holes .sentence:not([hidden])')?.innerText.includes('blue')")
    typed = "return ['face', 'edge', 'size', 'distance', 'count'].map((id) => document.getElementById(id).value)"
    assert page.run(typed) == ["leg_b", "free", "blue", "3/8", "3"]
    assert (clips.folder / "job.toml").read_bytes() == before


def test_enter_keeps_a_size_and_takes_nothing_away(page: Page, clips: Served) -> None:
    """The form's first button takes holes away; Enter in a field is not meant for it."""
    page.driver.get(f"{clips.origin}/part/0")
    until(page, "return document.querySelector('#flat .targets')")
    field = page.driver.find_element("id", "f-part-0-leg_b")
    page.run("arguments[0].focus(); arguments[0].select()", field)
    field.send_keys("1 1/8", "\n")
    found = saved(clips, lambda found: found["part"][0].get("leg_b") == "1 1/8")
    assert found["part"][0].get("leg_b") == "1 1/8"
    assert found["part"][0]["holes"] and len(found["part"]) == 6


def test_an_angle_is_told_both_ways(page: Page, clips: Served) -> None:
    page.driver.get(f"{clips.origin}/part/0")
    until(page, "return document.querySelector('#flat svg')")
    fill(page, 'between ["part", 0, "angle"]', "120")
    assert page.run('return document.getElementsByName(\'["part", 0, "angle"]\')[0].value') == "60"
    assert saved(clips, lambda found: found["part"][0].get("angle") == 60)["part"][0]["angle"] == 60


def test_holes_by_pointing_and_by_lists_are_the_same_choice(page: Page, clips: Served) -> None:
    page.driver.get(f"{clips.origin}/part/0")
    until(page, "return document.querySelector('#flat .targets')")
    target = "document.querySelector('.targets [data-face=leg_b][data-edge=free]')"
    page.run(f"{target}.dispatchEvent(new MouseEvent('click', {{bubbles: true}}))")
    chosen = "return [document.getElementById('face').value, document.getElementById('edge').value]"
    assert page.run(chosen) == ["leg_b", "free"]
    assert page.run("return document.getElementById('edge').selectedOptions[0].text") == "free, away from its bend"
    fill(page, "face", "leg_a")
    assert page.run(chosen)[0] == "leg_a"
    assert page.run("return document.querySelectorAll('.targets .picked[data-face=leg_a]').length") == 1


def test_a_row_of_a_table_of_sizes_is_changed_in_its_file(
    browser: Page, serving: Callable[[Path], Served], tmp_path: Path, root: Path
) -> None:
    shutil.copytree(root / "examples" / "float-fittings", tmp_path / "job")
    served = serving(tmp_path / "job" / "job.toml")
    browser.open(served.address)
    browser.driver.get(f"{served.origin}/part/1?part=TF-113")
    picture = until(browser, "return document.querySelector('#flat svg')?.outerHTML")
    fill(browser, '["TF-113", "leg_b"]', "1 1/16", leave=False)
    until(browser, "return document.querySelector('#flat svg').outerHTML != arguments[0] || null", picture)
    fill(browser, '["TF-113", "leg_b"]', "1 1/16")
    until(browser, "return document.querySelector('h1').innerText === 'TF-113' && !!document.querySelector('#cells')")
    table, end = served.folder / "clips.csv", time.monotonic() + LATE
    while "1 1/16" not in table.read_text(encoding="utf-8") and time.monotonic() < end:
        time.sleep(0.05)
    assert [line[:6] for line in table.read_text(encoding="utf-8").splitlines() if "1 1/16" in line] == ["TF-113"]


@pytest.mark.parametrize("units, sizes", [("in", ("4", "2", "3/4", "1/2")), ("mm", ("100", "50", "20", "12.5"))])
def test_an_own_profile_of_five_bends(
    browser: Page, serving: Callable[[Path], Served], tmp_path: Path, root: Path, units: str, sizes: tuple[str, ...]
) -> None:
    """Two walls with lips and an end, by the page alone; the file is one that a person reads."""
    shutil.copytree(root / "examples" / "first-clips", tmp_path / "job")
    head = f'title = "Cleats"\nunits = "{units}"\nmaterial = "6061-T6"\nthickness = "0.040 in"\nradius = "1/8 in"\n'
    part = '[[part]]\nid = "A-1"\nprofile = "angle"\nquantity = 2\n'
    (tmp_path / "job" / "job.toml").write_text(head + part, encoding="utf-8")
    served = serving(tmp_path / "job" / "job.toml")
    browser.open(served.address)
    browser.driver.get(f"{served.origin}/profile/new")
    for name, text in zip(("title", "length", "width"), ("Pump cleat", *sizes[:2]), strict=True):
        fill(browser, name, text, leave=False)
    press(browser, "Begin with this face")
    steps = (("base", "top"), ("base", "bottom"), ("flange_1", "free"), ("flange_2", "free"), ("base", "left"))
    for k, (face, edge) in enumerate(steps, 1):
        until(browser, "return document.getElementById('flange')?.value === arguments[0]", f"flange_{k}")
        fill(browser, "face", face)
        fill(browser, "edge", edge)
        fill(browser, "size", sizes[3 if face != "base" else 2], leave=False)
        press(browser, "Add this flange")
    until(browser, "return document.querySelectorAll('#describe fieldset').length === 5")
    part = load(served.folder / "job.toml").parts[-1]
    assert (part.profile, len(part.bends)) == ("pump-cleat", 5)
    text = (served.folder / "profiles" / "pump-cleat.toml").read_text(encoding="utf-8")
    assert text.startswith("# Pump cleat: ") and text.count("explain = ") == 12 and 'grain = "across flange_1"' in text


def test_a_finding_is_accepted_with_its_reason(page: Page, clips: Served) -> None:
    page.driver.get(f"{clips.origin}/part/0")
    until(page, "return document.querySelector('#flat svg')")
    fill(page, '["part", 0, "leg_b"]', "1/4 in")
    saved(clips, lambda found: found["part"][0].get("leg_b") == "1/4 in")
    until(page, "return document.querySelector('#found .found li')")
    rule = page.run("return document.querySelector('#found [name=rule]').value")
    page.run("document.querySelector('#found details').open = true")
    fill(page, "reason", "the designer says so on the drawing")
    page.run("document.querySelector('#found [name=reason]').blur()")
    assert "waive" not in data(clips), "leaving the field accepts nothing"
    press(page, "Accept it")
    (waiver,) = saved(clips, lambda found: "waive" in found)["waive"]
    assert (waiver["rule"], waiver["part"]) == (rule, data(clips)["part"][0]["id"])
    assert waiver["reason"] == "the designer says so on the drawing"


HURT = "<img src=x onerror=window.hurt=1>"


def test_text_of_a_part_comes_out_as_text(page: Page, clips: Served) -> None:
    job = clips.folder / "job.toml"
    text = job.read_text(encoding="utf-8").replace('id = "OX-1"', f'id = "A {HURT}"\nnotes = ["{HURT} {{{{7*7}}}}"]')
    job.write_text(text.replace('leg_b = "7/8 in"', 'leg_b = "0.2 in"', 1), encoding="utf-8")
    for path in ("/part/0", "/part/1", "/part/0/profile"):
        page.driver.get(f"{clips.origin}{path}")
        until(page, "return document.querySelector('h1')")
    page.driver.get(f"{clips.origin}/part/0")
    until(page, "return document.querySelector('.found')?.innerText.includes('onerror')")
    fill(page, '["part", 0, "title"]', HURT, leave=False)
    until(page, "return document.getElementById('describe').dataset.took")
    assert page.run("return window.hurt === undefined && !document.querySelector('img')")
    assert "49" not in page.run('return document.getElementsByName(\'["part", 0, "notes"]\')[0].value')


def test_nothing_of_the_page_complains(page: Page, clips: Served) -> None:
    for path in ("/part/0", "/part/new", "/part/0/profile", "/profile/new"):
        page.driver.get(f"{clips.origin}{path}")
        until(page, "return document.querySelector('h1')")
    page.driver.get(f"{clips.origin}/part/1")
    until(page, "return document.getElementById('brake').innerText.includes('On the brake')")
    assert page.complaints() == []
