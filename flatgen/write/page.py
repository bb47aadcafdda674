"""index.html: the packet as one page that needs no network, for the phone at the bench and for the printer.

The first screen says what is to be decided, what to bend first and what comes next, and how far each station is.
Parts, settings and sheets are a line or a picture each until they are opened: then they show what the paper shows, by
the other printer. A policy in the page's head forbids it to load anything and to run any script but its own.
"""

import base64
import hashlib
from collections.abc import Sequence
from pathlib import Path

from flatgen.core.words import counted
from flatgen.model.results import Results
from flatgen.page.content import Box, Subject, leaves
from flatgen.page.findings import contents, doubts, lines
from flatgen.page.packet import Enclosure, Subjects
from flatgen.write.packet_html import Html, data, join, tag, word
from flatgen.write.packet_words import CAUTIONS, key_figures, next_steps
from flatgen.write.page_parts import parts_section, station_boxes, test_bends_section
from flatgen.write.page_sheets import sheets_section
from flatgen.write.screen import article, layer_styles, shown

FILES = Path(__file__).parent / "packet_files"
SCRIPTS = ("formed.js", "nests.js", "bench.js")


def as_text(results: Results, enclosures: Sequence[Enclosure], subjects: Subjects) -> str:
    """The whole page."""
    job = results.job
    style = (FILES / "page.css").read_text(encoding="utf-8") + layer_styles()
    scripts = [f"\n(function () {{\n{(FILES / name).read_text(encoding='utf-8')}}})();\n" for name in SCRIPTS]
    sections: list[tuple[str, str, Html | None]] = [
        ("test-bends", "Test bends", test_bends_section(results, enclosures, subjects.cards)),
        ("parts", "Parts", parts_section(results, enclosures, subjects.cards)),
        ("findings", "Findings", _findings(results)),
        ("tally", "Tally", _tally(subjects)),
        ("settings", "Settings", _settings(subjects)),
        ("sheets", "Sheets", sheets_section(results, enclosures, subjects.sheets)),
        ("files", "Files", _files(enclosures)),
        ("cautions", "Cautions", _cautions()),
    ]
    there = [(key, name) for key, name, section in sections if section is not None]
    head = tag(
        "head",
        tag("meta", charset="utf-8"),
        tag("meta", http_equiv="Content-Security-Policy", content=_policy(scripts)),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("meta", name="generator", content="flatgen"),
        tag("title", job.title),
        Html(f"<style>{style}</style>"),
    )
    links = tag("ul", [tag("li", tag("a", name, href=f"#{key}")) for key, name in there])
    body = tag(
        "body",
        tag("a", "Skip to the summary", href="#summary", class_="skip"),
        tag(
            "header",
            tag("h1", word(job.title), id="top"),
            tag("nav", links, tag("a", "Top", href="#top", class_="up"), aria_label="Sections"),
        ),
        tag("main", _summary(results, subjects), [section for _, _, section in sections], id="main"),
        tag("footer", tag("p", "Made by flatgen from inputs with digest ", tag("code", job.digest[:16]), ".")),
        data("bench", {"digest": job.digest, "job": job.title}),
        [Html(f"<script>{script}</script>") for script in scripts],
    )
    return "<!doctype html>\n" + tag("html", head, body, lang="en") + "\n"


def _policy(scripts: Sequence[str]) -> str:
    """Nothing from outside; only the scripts whose digests stand here."""
    allowed = []
    for script in scripts:
        digest = base64.b64encode(hashlib.sha256(script.encode("utf-8")).digest()).decode("ascii")
        allowed.append(f"'sha256-{digest}'")
    return f"default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src {' '.join(allowed)}"


def _summary(results: Results, subjects: Subjects) -> Html:
    found = [line.state for line in lines(results.findings, results.job.units)]
    stops, asks = found.count("stop"), found.count("decide")
    coupons = [made.part.id for made in results.parts if made.part.kind == "coupon" and not made.stopped]
    steps = next_steps(results)
    told = f"{stops} STOP, {asks}" if stops else str(asks)
    tiles = [
        _tile("to decide", told, "findings", "stop" if stops else "decide" if asks else ""),
        _tile("test bends", str(len(coupons)), "test-bends" if coupons else "settings", ""),
        tag("li", tag("span", "do next", class_="label"), tag("p", word(steps[0] if steps else "Nothing is left."))),
    ]
    stopped = f"STOP: {doubts(results.findings, results.job.units)}. Stopped parts have no cutting drawing."
    figures = [(name, word("; ".join(said))) for name, said in key_figures(results)]
    return tag(
        "section",
        tag("h2", "Summary"),
        tag("p", stopped, class_="stop") if results.stopped else None,
        tag("ul", tiles, class_="three"),
        _stations(results, subjects),
        tag(
            "div",
            tag("button", "Save ticks and counts to a file", type="button", id="export"),
            tag("button", "Clear all ticks", type="button", id="clear"),
            tag("button", "It is printed: mark what changes", type="button", id="printed"),
            tag("output", id="kept", aria_live="polite"),
            class_="tools",
        ),
        tag(
            "details",
            tag("summary", "Figures of the job, and all that comes next"),
            tag("dl", [tag("div", tag("dt", name), tag("dd", value)) for name, value in figures], class_="facts"),
            tag("ol", [tag("li", word(step)) for step in steps]),
        ),
        id="summary",
    )


def _tile(label: str, value: str, to: str, css: str) -> Html:
    said = tag(
        "a", tag("span", value, class_=f"big {css}".strip()), " ", tag("span", label, class_="label"), href=f"#{to}"
    )
    return tag("li", said)


def _stations(results: Results, subjects: Subjects) -> Html:
    """A row a station: how much is done of all, counted from the boxes of this page."""
    boxes = [box for made in results.parts for box in station_boxes(made)]
    of = {key: sum(box.of for box in boxes if box.key.startswith(key)) for key in ("drilled", "measured")}
    ops = [op for setup in results.setups for op in setup.operations]
    strokes = {(op.part, op.step, op.squeezed): op.done + op.pieces for op in ops}
    rows = [
        ("cut", "steps at shear and router", sum(map(_boxes, subjects.sheets)), "sheets"),
        ("drilled", "pieces drilled", of["drilled"], "parts"),
        ("bent", "bends", sum(strokes.values()), "settings"),
        ("measured", "pieces measured", of["measured"], "parts"),
    ]
    names = {"cut": "Cut", "drilled": "Drill", "bent": "Bend", "measured": "Measure"}
    items = [
        tag(
            "li",
            tag("a", names[key], href=f"#{to}"),
            tag("span", tag("span", "0", data_done=f"{key}/"), f" of {most} {what}"),
            tag("progress", max=most, value="0", data_bar=f"{key}/", aria_label=f"{names[key]}: done of {most} {what}"),
        )
        for key, what, most, to in rows
        if most
    ]
    return tag("ul", items, class_="stations")


def _boxes(subject: Subject) -> int:
    return sum(isinstance(cell, Box) for cell in leaves(subject.contents))


def _findings(results: Results) -> Html:
    """What stops and what is to be decided in full; notes and what was waived one fold away."""
    found = lines(results.findings, results.job.units)
    first = [line for line in found if line.state in ("stop", "decide")]
    rest = [line for line in found if line.state not in ("stop", "decide")]
    nothing = tag("p", "There is nothing to decide. That does not make a part strong enough.")
    more = tag(
        "details",
        tag("summary", counted(len(rest), "note"), " and waived findings"),
        [shown(content) for content in contents(rest)],
    )
    return tag(
        "section",
        tag("h2", "Findings"),
        [shown(content) for content in contents(first)] if first else nothing,
        more if rest else None,
        id="findings",
    )


def _tally(subjects: Subjects) -> Html | None:
    rows = [tag("details", tag("summary", "How far each part is, and tonight"), article(one)) for one in subjects.tally]
    return tag("section", tag("h2", "Tally"), rows, id="tally") if rows else None


def _settings(subjects: Subjects) -> Html | None:
    rows = [
        tag("details", tag("summary", tag("strong", word(one.title.capitalize())), " ", word(one.side)), article(one))
        for one in subjects.settings
    ]
    return tag("section", tag("h2", "Settings"), rows, id="settings") if rows else None


def _files(enclosures: Sequence[Enclosure]) -> Html:
    links = [("Cut list (CSV)", "cut-list.csv")]
    links += [
        (f"{e.title} ({ending.upper()})", name)
        for e in enclosures
        if not e.about and not e.name.startswith("gauges/")
        for name, ending in zip(e.files, e.formats, strict=True)
    ]
    links.append(("All results for other programs (JSON)", "results.json"))
    return tag(
        "section",
        tag("h2", "Files"),
        tag("p", "Links work where this page lies in its folder; patterns and drawings are linked at their parts."),
        tag("ul", [tag("li", tag("a", join(text), href=name)) for text, name in links], class_="files"),
        id="files",
    )


def _cautions() -> Html:
    return tag("section", tag("h2", "Cautions"), tag("ul", [tag("li", text) for text in CAUTIONS]), id="cautions")
