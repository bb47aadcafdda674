"""Sheets of the page: each to look at and point into, its cuts in order with boxes to tick."""

from collections.abc import Sequence
from typing import Any

from flatgen.model.plan import Nest, Placement
from flatgen.model.results import Results
from flatgen.page.content import Facts, Fold, Subject
from flatgen.page.packet import Enclosure
from flatgen.units import format_angle, format_length
from flatgen.write.nest_words import nest_facts, nest_title
from flatgen.write.packet_html import Html, data, tag, word
from flatgen.write.packet_pictures import nest_picture
from flatgen.write.packet_words import numbered_nests
from flatgen.write.screen import article, shown


def sheets_section(results: Results, enclosures: Sequence[Enclosure], sheets: Sequence[Subject]) -> Html | None:
    """All sheets; None when nothing is nested."""
    nests = numbered_nests(results)
    left = [(report, u) for report in results.nests for u in report.unplaced]
    if not nests and not left:
        return None
    missing = [tag("li", word(u.part), f": {u.quantity} not nested. ", word(u.reason)) for _, u in left]
    units = results.job.units
    pieces: dict[str, Any] = {str(k): [_piece(results, p, units) for p in nest.placements] for k, nest in nests}
    used = [Fold(nest_title(results, r), (Facts(tuple(nest_facts(results, r))),)) for r in results.nests]
    return tag(
        "section",
        tag("h2", "Sheets"),
        tag("ul", missing, class_="stop") if missing else None,
        [_sheet(k, nest, sheets[k - 1], results, enclosures) for k, nest in nests],
        tag("details", tag("summary", "How well the sheets are used"), [shown(fold) for fold in used]),
        data("nest-pieces", pieces),
        id="sheets",
    )


def _piece(results: Results, placement: Placement, units: str) -> list[str]:
    """Part, and what is said of this piece."""
    made = results.developed(placement.part)
    title = f" {made.part.title}" if made.part.title else ""
    turned = f"turned {format_angle(placement.rotation % 360.0)}" if placement.rotation % 360.0 else "not turned"
    over = ", other side up" if placement.mirrored else ""
    corner = f"{format_length(placement.x, units)}, {format_length(placement.y, units)} {units}"
    return [placement.part, f"{placement.part}{title}, piece {placement.copy}, {turned}{over}, its origin at {corner}"]


def _sheet(k: int, nest: Nest, subject: Subject, results: Results, enclosures: Sequence[Enclosure]) -> Html:
    blanks = {made.part.id: made.blank for made in results.parts}
    files = [
        tag("li", tag("a", f"Drawing of the sheet ({ending.upper()})", href=name))
        for e in enclosures
        if e.kind == "nest" and e.about == str(k)
        for name, ending in zip(e.files, e.formats, strict=True)
    ]
    return tag(
        "details",
        tag("summary", tag("strong", f"Sheet {k}"), " ", word(f"{subject.side}, {nest.material}")),
        _pointed(k, nest_picture(k, nest, blanks)),
        article(subject),
        tag("ul", files, class_="files") if files else None,
    )


def _pointed(k: int, picture: Html) -> Html:
    """The picture with what makes it larger and says what is pointed at."""
    label = f"Sheet {k} with its pieces. Tap a piece, or use the arrow keys, to hear which part it is"
    ways = (("+", "in", "Larger"), ("−", "out", "Smaller"), ("Whole", "fit", "Whole"))
    buttons = [
        tag("button", text, type="button", data_zoom=step, aria_label=f"{what}, sheet {k}") for text, step, what in ways
    ]
    return tag(
        "div",
        tag("div", buttons, class_="tools"),
        tag("div", picture, class_="sheet", tabindex=0, role="group", aria_label=label),
        tag("output", "Tap a piece to see which part it is.", aria_live="polite"),
        class_="nest",
        data_nest=k,
    )
