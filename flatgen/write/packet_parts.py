"""Parts of the page: what each is, its flat and formed pictures, its bends, what was found, and its files."""

from collections.abc import Sequence
from typing import Any

from flatgen.model.blank import BendLine, Blank
from flatgen.model.results import Developed, Results
from flatgen.page.findings import contents, lines
from flatgen.page.packet import Enclosure
from flatgen.units import format_angle, format_length
from flatgen.write.packet_html import Content, Html, data, facts, join, table, tag, word
from flatgen.write.packet_pictures import flat_picture, formed_numbers
from flatgen.write.packet_words import grain_words, length, mass, size
from flatgen.write.screen import shown


def parts_section(results: Results, enclosures: Sequence[Enclosure]) -> Html:
    """All parts, with a list to jump by and the numbers of their formed shapes."""
    jump = [
        tag("li", tag("a", word(made.part.id), href=f"#part-{k}"), " STOP" if made.stopped else None)
        for k, made in enumerate(results.parts)
    ]
    shapes: list[Any] = [formed_numbers(made.blank) if made.blank.bends else None for made in results.parts]
    return tag(
        "section",
        tag("h2", "Parts"),
        tag("nav", tag("ul", jump, class_="jump"), aria_label="Parts"),
        [_part(k, made, results, enclosures) for k, made in enumerate(results.parts)],
        data("formed-shapes", shapes),
        id="parts",
    )


def _part(k: int, made: Developed, results: Results, enclosures: Sequence[Enclosure]) -> Html:
    part, blank, units = made.part, made.blank, results.job.units
    title = join(word(part.id), " ", word(part.title)) if part.title else word(part.id)
    said: list[tuple[str, Content]] = [
        ("Quantity", f"{part.quantity} wanted, {results.nested[part.id]} to cut"),
        ("Material", join(word(part.material.name), f" {length(part.thickness, units)}")),
        ("Blank", size(blank.width, blank.height, units)),
        ("Formed, over all", " × ".join(format_length(v, units) for v in blank.formed_size) + f" {units}"),
        ("Finished mass", mass(blank.mass, units)),
        ("Grain", grain_words(blank)),
        ("Cut with", word(made.tool)),
    ]
    if part.drawing:
        drawing = f"{part.drawing} rev. {part.revision}" if part.revision else part.drawing
        said.append(("Drawing", word(drawing)))
    if part.hand in ("left", "right"):
        said.append(("Hand", part.hand))
    here = [finding for finding in results.findings if finding.part == part.id]
    return tag(
        "article",
        tag("h3", title, id=f"part-name-{k}"),
        tag("p", "STOP: a finding forbids cutting this part; it has no cutting drawing.", class_="stop")
        if made.stopped
        else None,
        facts(said),
        tag("ul", [tag("li", word(note)) for note in part.notes]) if part.notes else None,
        tag("div", _flat(part.id, blank, units), _formed(k, part.id, blank, enclosures), class_="pictures"),
        _bends(part.id, blank, units),
        [shown(content) for content in contents(lines(here, units), places=False)],
        _files(part.id, enclosures),
        id=f"part-{k}",
        aria_labelledby=f"part-name-{k}",
    )


def _flat(part_id: str, blank: Blank, units: str) -> Html:
    label = f"Flat blank of {part_id}, {size(blank.width, blank.height, units)}, upper side"
    note = (
        "Flat, upper side. Bends: full line up, toward you; dashed line down." if blank.bends else "Flat, upper side."
    )
    return tag("figure", flat_picture(blank, label), tag("figcaption", note))


def _formed(k: int, part_id: str, blank: Blank, enclosures: Sequence[Enclosure]) -> Html | None:
    if not blank.bends:
        return None
    still = next((e for e in enclosures if e.kind == "formed" and e.about == part_id), None)
    x, y, z = (f"{v:.0f}" for v in blank.formed_size)
    label = f"Formed {part_id}, {x} by {y} by {z} mm. Arrow keys turn it, + and - change its size, Home sets it back"
    image = picture(still, f"Formed {part_id}") if still else None
    return tag(
        "figure",
        tag("div", image, class_="formed", data_shape=k, data_label=label),
        tag("figcaption", tag("span", "Formed.", class_="always"), tag("span", " Drag to turn it.", class_="turns")),
    )


def picture(enclosure: Enclosure, label: str, page: int = 0) -> Html:
    """A drawing as an image inside the page."""
    import base64

    from flatgen.write import svg

    coded = base64.b64encode(svg.as_text(enclosure.drawings[page]).encode("utf-8")).decode("ascii")
    return tag("img", alt=label, src=f"data:image/svg+xml;base64,{coded}", loading="lazy")


def _bends(part_id: str, blank: Blank, units: str) -> Html | None:
    if not blank.bends:
        return None
    heads = ("bend", "way", "angle", "inside radius", "nose bar", "deduction", "over-bend to", "reckoned by")
    rows = [_bend(bend, units) for bend in blank.bends]
    return table(join("Bends of ", word(part_id)), heads, rows, numbers=(2, 3, 5, 6), css="short")


def _bend(bend: BendLine, units: str) -> tuple[Content, ...]:
    bent = bend.bent
    deduction = "none" if abs(bent.deduction) == float("inf") else length(bent.deduction, units)
    radius = length(bent.inside_radius, units)
    if abs(bent.inside_radius - bent.drawing_radius) > 0.005:
        radius += f" (drawing {format_length(bent.drawing_radius, units)})"
    return (
        bend.id,
        bend.direction,
        format_angle(bend.angle),
        radius,
        word(bent.nose) if bent.nose else "none",
        deduction,
        format_angle(bend.overbend_to),
        f"{bent.method}: {bent.source}",
    )


def _files(part_id: str, enclosures: Sequence[Enclosure]) -> Html | None:
    links = [
        tag("li", tag("a", f"{e.title} ({ending.upper()})", href=name))
        for e in enclosures
        if e.about == part_id and e.kind != "nest"
        for name, ending in zip(e.files, e.formats, strict=True)
    ]
    return tag("ul", links, class_="files") if links else None
