"""Nests of the page: each sheet to look at and point into, its pieces, its cuts in order with boxes to tick."""

from collections import Counter
from collections.abc import Sequence
from typing import Any

from flatgen.core.words import counted
from flatgen.model.plan import Nest
from flatgen.model.results import Results
from flatgen.page.packet import Enclosure
from flatgen.units import format_angle, format_length
from flatgen.write.nest_words import nest_facts, nest_title
from flatgen.write.packet_html import Content, Html, data, facts, join, table, tag, word
from flatgen.write.packet_pictures import nest_picture
from flatgen.write.packet_words import length, material_name, numbered_nests, sheet_grain_words, size


def nests_section(results: Results, enclosures: Sequence[Enclosure]) -> Html | None:
    """All sheets; None when nothing is nested."""
    nests = numbered_nests(results)
    left = [(report, u) for report in results.nests for u in report.unplaced]
    if not nests and not left:
        return None
    missing = [tag("li", word(u.part), f": {u.quantity} not nested. ", word(u.reason)) for _, u in left]
    units = results.job.units
    pieces: dict[str, Any] = {str(k): [_piece(results, p, units) for p in nest.placements] for k, nest in nests}
    return tag(
        "section",
        tag("h2", "Nests"),
        tag("ul", missing, class_="stop") if missing else None,
        [
            tag("article", tag("h3", word(nest_title(results, r))), facts(nest_facts(results, r)), class_="nests")
            for r in results.nests
        ],
        [_nest(k, nest, results, enclosures) for k, nest in nests],
        data("nest-pieces", pieces),
        id="nests",
    )


def _piece(results: Results, placement: Any, units: str) -> list[str]:
    """Part, and what is said of this piece."""
    made = results.developed(placement.part)
    title = f" {made.part.title}" if made.part.title else ""
    turned = f"turned {format_angle(placement.rotation % 360.0)}" if placement.rotation % 360.0 else "not turned"
    over = ", other side up" if placement.mirrored else ""
    corner = f"{format_length(placement.x, units)}, {format_length(placement.y, units)} {units}"
    return [placement.part, f"{placement.part}{title}, piece {placement.copy}, {turned}{over}, its origin at {corner}"]


def _nest(k: int, nest: Nest, results: Results, enclosures: Sequence[Enclosure]) -> Html:
    units, sheet = results.job.units, nest.sheet
    blanks = {made.part.id: made.blank for made in results.parts}
    counts = Counter(p.part for p in nest.placements)
    kind = "remnant" if sheet.remnant else "sheet"
    head = join(f"Sheet {k}: ", word(sheet.id))
    said: list[tuple[str, Content]] = [
        ("Material", join(word(material_name(results, nest.material)), f" {length(nest.thickness, units)}")),
        ("Size", f"{size(sheet.width, sheet.height, units)}, {kind}"),
        ("Cut with", word(nest.tool if nest.tool == nest.method else f"{nest.tool} ({nest.method})")),
        ("Pieces", f"{len(nest.placements)}, {nest.utilisation:.0%} of the {kind} used"),
        ("Grain", sheet_grain_words(sheet)),
    ]
    if sheet.batch:
        said.append(("Batch", word(sheet.batch)))
    label = f"Nest of sheet {k}. Tap a piece, or use the arrow keys, to hear which part it is"
    files = [
        tag("li", tag("a", f"Drawing of the sheet ({ending.upper()})", href=name))
        for e in enclosures
        if e.kind == "nest" and e.about == str(k)
        for name, ending in zip(e.files, e.formats, strict=True)
    ]
    return tag(
        "article",
        tag("h3", head, id=f"sheet-name-{k}"),
        facts(said),
        tag(
            "div",
            tag(
                "div",
                [
                    tag("button", text, type="button", data_zoom=step, aria_label=f"{what}, sheet {k}")
                    for text, step, what in (("+", "in", "Larger"), ("−", "out", "Smaller"), ("Whole", "fit", "Whole"))
                ],
                class_="tools",
            ),
            tag("div", nest_picture(k, nest, blanks), class_="sheet", tabindex=0, role="group", aria_label=label),
            tag("output", "Tap a piece to see which part it is.", aria_live="polite"),
            class_="nest",
            data_nest=k,
        ),
        table(
            f"Pieces of sheet {k}",
            ("part", "pieces"),
            [(word(part), str(n)) for part, n in counts.items()],
            numbers=(1,),
            css="short",
        ),
        _cuts(k, nest, units),
        _offcuts(k, nest, units),
        tag("ul", files, class_="files") if files else None,
        id=f"sheet-{k}",
        aria_labelledby=f"sheet-name-{k}",
    )


def _cuts(k: int, nest: Nest, units: str) -> Html | None:
    if not nest.cuts:
        return None
    rows = [
        (
            str(cut.order),
            tick(f"sheet {k}, cut {cut.order}", f"s{k}c{cut.order}"),
            length(cut.gauge, units),
            cut.hold,
            f"{_place(cut.start, units)} to {_place(cut.end, units)}",
            word(cut.note),
        )
        for cut in nest.cuts
    ]
    cuts = table(
        f"Cuts of sheet {k} in order, places in {units} from the sheet’s corner",
        ("cut", "done", "gauge", "hold", "line", "then"),
        rows,
        numbers=(2,),
        css="short",
    )
    return tag("details", tag("summary", f"Sheet {k}: {counted(len(rows), 'cut')} in order"), cuts)


def _place(p: tuple[float, float], units: str) -> str:
    return f"{format_length(p[0], units)}, {format_length(p[1], units)}"


def _offcuts(k: int, nest: Nest, units: str) -> Html | None:
    if not nest.offcuts:
        return None
    rows = [(word(o.id), size(o.width, o.height, units), _place((o.x, o.y), units)) for o in nest.offcuts]
    return table(f"Off-cuts of sheet {k} worth keeping", ("off-cut", "size", "corner at"), rows)


def tick(label: str, key: str) -> Html:
    """A box to tick that the browser remembers."""
    return tag("input", type="checkbox", data_keep=key, aria_label=f"Done: {label}")
