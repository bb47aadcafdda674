"""index.html: the packet as one page that needs no network, for the phone at the bench and for the printer.

The page is put together by the sections of the ``packet_`` modules; its style and scripts are the files beside this one
in ``packet_files``. A policy in its head forbids it to load anything and to run any script but its own.
"""

import base64
import hashlib
from collections.abc import Sequence
from pathlib import Path

from flatgen.model.results import Results
from flatgen.page.findings import contents, lines
from flatgen.page.packet import Enclosure
from flatgen.write.packet_brake import brake_section
from flatgen.write.packet_html import Content, Html, data, facts, join, table, tag, word
from flatgen.write.packet_nests import nests_section
from flatgen.write.packet_parts import parts_section
from flatgen.write.packet_words import CAUTIONS, doubts, grain_words, key_figures, length, next_steps, size
from flatgen.write.screen import shown

FILES = Path(__file__).parent / "packet_files"
SCRIPTS = ("formed.js", "nests.js", "bench.js")


def as_text(results: Results, enclosures: Sequence[Enclosure]) -> str:
    """The whole page."""
    job = results.job
    style = (FILES / "page.css").read_text(encoding="utf-8")
    scripts = [f"\n(function () {{\n{(FILES / name).read_text(encoding='utf-8')}}})();\n" for name in SCRIPTS]
    sections: list[tuple[str, str, Html | None]] = [
        ("findings", "Findings", _findings(results)),
        ("parts", "Parts", parts_section(results, enclosures)),
        ("nests", "Nests", nests_section(results, enclosures)),
        ("brake", "Brake plan", brake_section(results, enclosures)),
        ("cutting", "Cut list", _cut_list(results)),
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
    body = tag(
        "body",
        tag("a", "Skip to the summary", href="#summary", class_="skip"),
        tag(
            "header",
            tag("h1", word(job.title), id="top"),
            tag(
                "nav",
                tag("ul", [tag("li", tag("a", name, href=f"#{key}")) for key, name in there]),
                tag("a", "Sections", href="#top", class_="up"),
                aria_label="Sections",
            ),
        ),
        tag("main", _summary(results), [section for _, _, section in sections], id="main"),
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


def _summary(results: Results) -> Html:
    job = results.job
    pairs: list[tuple[str, Content]] = [
        (name, word(said[0]) if len(said) == 1 else tag("ul", [tag("li", word(line)) for line in said]))
        for name, said in key_figures(results)
    ]
    if job.drawing_owner:
        pairs.append(("Drawings of", word(job.drawing_owner)))
    return tag(
        "section",
        tag("h2", "Summary"),
        tag("p", f"STOP: {doubts(results.findings, job.units)}. Stopped parts have no cutting drawing.", class_="stop")
        if results.stopped
        else None,
        facts(pairs),
        tag("h3", "Next"),
        tag("ol", [tag("li", word(step)) for step in next_steps(results)]),
        tag("p", CAUTIONS[0], class_="caution"),
        tag(
            "div",
            tag("button", "Save ticks and counts to a file", type="button", id="export"),
            tag("button", "Clear all ticks", type="button", id="clear"),
            tag("output", id="kept", aria_live="polite"),
            class_="tools",
        ),
        id="summary",
    )


def _findings(results: Results) -> Html:
    units = results.job.units
    found = [shown(content) for content in contents(lines(results.findings, units))]
    nothing = tag("p", "No rule found anything. That does not make a part strong enough.")
    return tag("section", tag("h2", "Findings"), found or nothing, id="findings")


def _cut_list(results: Results) -> Html:
    units = results.job.units
    heads = ("part", "material", "thickness", "blank", "grain", "wanted", "to cut", "tool", "state")
    nested, rows = results.nested, []
    for made in results.parts:
        part, blank = made.part, made.blank
        rows.append(
            (
                word(part.id),
                word(part.material.name),
                length(blank.thickness, units),
                size(blank.width, blank.height, units),
                grain_words(blank),
                str(part.quantity),
                str(nested[part.id]),
                word(made.tool),
                "STOP" if made.stopped else "to cut",
            )
        )
    return tag(
        "section", tag("h2", "Cut list"), table("Blanks to cut", heads, rows, numbers=(5, 6), css="short"), id="cutting"
    )


def _files(enclosures: Sequence[Enclosure]) -> Html:
    links = [("Cut list (CSV)", "cut-list.csv")]
    links += [
        (f"{e.title} ({ending.upper()})", name)
        for e in enclosures
        if not e.about
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
