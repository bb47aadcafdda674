"""Text of a job comes out as text wherever it goes: page, drawings, tables, terminal."""

import csv
import json
import shutil
import xml.etree.ElementTree as ElementTree
from html.parser import HTMLParser
from pathlib import Path

import pytest
from click.testing import CliRunner
from making import Made, make_job

from flatgen.cli import flatgen
from flatgen.cli.say import harmless

SCRIPT = "<script>window.hurt=1</script>"
IMAGE = "\"'><img src=x onerror=window.hurt=2>"
ENDS = "</style></title></svg></script>--><!-- ]]> &lt;b&gt; &amp; {{7*7}} ${7} %s"
SHELF = "מדף ימין"
RIGHT = f"{SHELF} \u202e reversed"
LONG = "supercalifragilistic" * 40
JOB = {
    "title": f"{SCRIPT} {ENDS}",
    "owner": IMAGE,
    "notes": [SCRIPT, IMAGE, ENDS, RIGHT, LONG],
}
IDS = [f"A{IMAGE}", "B </bdi><b>", "C ../../etc", f"D {SHELF}", "=HYPERLINK(1)", "G" + "x" * 59]


def toml(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory, root: Path) -> Made:
    folder = tmp_path_factory.mktemp("hostile")
    shutil.copy(root / "examples" / "float-fittings" / "shop.toml", folder / "shop.toml")
    lines = [f"title = {toml(JOB['title'])}", f"owner = {toml(JOB['owner'])}"]
    lines += [f"notes = [{', '.join(toml(note) for note in JOB['notes'])}]"]
    lines += ['material = "6061-T6"', 'thickness = "0.040 in"', 'radius = "3/32 in"']
    for part_id in IDS:
        lines += ["[[part]]", f"id = {toml(part_id)}", 'profile = "angle"', "quantity = 2"]
        lines += [f"title = {toml(LONG + SCRIPT)}", f"drawing = {toml(IMAGE)}", f"revision = {toml(SCRIPT)}"]
    lines += [
        "[[waive]]",
        'rule = "grain-along-bend"',
        f"part = {toml(IDS[0])}",
        f"reason = {toml(SCRIPT + ' as said')}",
    ]
    (folder / "job.toml").write_text("\n".join(lines), encoding="utf-8")
    return make_job(folder / "job.toml", folder / "out")


class Elements(HTMLParser):
    """Every element and attribute, and all the text."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def test_no_element_comes_from_the_job(hostile: Made) -> None:
    page = Elements()
    page.feed((hostile.folder / "index.html").read_text(encoding="utf-8"))
    tags = [tag for tag, _ in page.tags]
    assert {"script": 6, "b": 0} == {"script": tags.count("script"), "b": tags.count("b")}
    assert not [attributes for _, attributes in page.tags if any(name.startswith("on") for name in attributes)]
    images = [attributes for tag, attributes in page.tags if tag == "img"]
    assert all(str(attributes["src"]).startswith("data:image/svg+xml;base64,") for attributes in images)
    links = [str(attributes["href"]) for tag, attributes in page.tags if tag == "a"]
    assert not [link for link in links if link.startswith(("javascript:", "/", "..", "http"))]
    text = "".join(page.text)
    for words in (SCRIPT, IMAGE, ENDS, RIGHT, LONG):
        assert words in text


def test_every_link_of_the_page_is_there(hostile: Made) -> None:
    page = Elements()
    page.feed((hostile.folder / "index.html").read_text(encoding="utf-8"))
    names = {tag.get("id") for _, tag in page.tags}
    for link in (str(attributes["href"]) for tag, attributes in page.tags if tag == "a"):
        assert link[1:] in names if link.startswith("#") else (hostile.folder / link).is_file(), link


def test_the_browser_runs_none_of_it(browser, hostile: Made) -> None:
    browser.open(hostile.folder / "index.html", width=360, height=780)
    browser.run("for (const c of document.querySelectorAll('canvas, .nest')) c.scrollIntoView()")
    assert browser.run("return window.hurt === undefined && document.title.includes('<script>')")
    assert browser.run("const e = document.documentElement; return e.scrollWidth <= e.clientWidth")
    assert [] == browser.complaints()
    said = browser.run(
        "document.querySelector('.piece').dispatchEvent(new MouseEvent('click', { bubbles: true }));"
        "return document.querySelector('.nest output').children.length"
    )
    assert 0 == said, "a tapped piece is named in text, not in markup"


def test_text_that_runs_the_other_way_stays_in_its_place(hostile: Made) -> None:
    """Part numbers stand in elements of their own, so that a right-to-left one does not turn what is beside it."""
    text = (hostile.folder / "index.html").read_text(encoding="utf-8")
    assert text.count(f"<bdi>D {SHELF}</bdi>") >= 2


def test_drawings_stay_well_formed(hostile: Made) -> None:
    drawings = [*hostile.folder.rglob("*.svg")]
    assert drawings
    for path in drawings:
        elements = {element.tag.split("}")[1] for element in ElementTree.parse(path).iter()}
        assert not elements & {"script", "img", "foreignObject", "b"}


def test_no_cell_is_taken_for_a_formula(hostile: Made) -> None:
    with (hostile.folder / "cut-list.csv").open(encoding="utf-8", newline="") as lines:
        cells = [cell for row in csv.reader(lines) for cell in row]
    assert not [cell for cell in cells if cell[:1] in "=+@" and cell]


def test_files_stay_in_the_folder(hostile: Made) -> None:
    assert {"job.toml", "shop.toml", "out"} == {path.name for path in hostile.folder.parent.iterdir()}
    assert all(hostile.folder in path.resolve().parents for path in hostile.folder.rglob("*"))


def test_the_terminal_is_not_steered(hostile: Made, tmp_path: Path) -> None:
    """Neither by a text that is refused nor by one that is shown."""
    text = (hostile.folder.parent / "job.toml").read_text(encoding="utf-8")
    shutil.copy(hostile.folder.parent / "shop.toml", tmp_path / "shop.toml")
    (tmp_path / "job.toml").write_text(text.replace('title = "', 'title = "\\u001b[31mred ', 1), encoding="utf-8")
    refused = CliRunner().invoke(flatgen, ["check", str(tmp_path / "job.toml")])
    assert 2 == refused.exit_code and "\x1b" not in refused.output
    shown = CliRunner().invoke(flatgen, ["nest", str(hostile.folder.parent / "job.toml"), "--effort", "0"])
    assert shown.output.startswith("<script>")
    assert "\x1b" not in shown.output
    assert "a\ufffd[31mb" == harmless("a\x1b[31mb")
