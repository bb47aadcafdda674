"""A part's pictures as pieces of its page: flat, sections, the part to turn; and the profiles to choose from."""

from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

from flatgen import budget
from flatgen.core.words import UNIT_NAMES, Units
from flatgen.develop.develop import develop
from flatgen.draw.part_picture import Flat, Letter, flat_picture, section_pictures
from flatgen.draw.setup_views import refused_picture
from flatgen.jobs.trial import Look
from flatgen.model.blank import Blank
from flatgen.model.finding import Finding
from flatgen.model.part import Part
from flatgen.model.plan import RefusedBend
from flatgen.page.findings import Line, lines
from flatgen.read.lettered import lettered
from flatgen.read.profile import Profile, load_profile
from flatgen.read.sample import sample_part
from flatgen.write.packet_html import Html, join, tag
from flatgen.write.packet_pictures import formed_numbers
from flatgen.write.screen import svg
from flatgen.write.svg import number

MOST_SHOWN = 3
TO_DECIDE = ("stop", "decide")


def shown_lines(findings: Sequence[Finding], units: str) -> tuple[list[Line], list[Line]]:
    """What is drawn and offered a cure for, the most urgent; and the rest."""
    every = lines(findings, units)
    first = [line for line in every if line.state in TO_DECIDE][:MOST_SHOWN]
    return first, [line for line in every if line not in first]


def pictures(look: Look, profile: Profile, findings: Sequence[Finding]) -> dict[str, Any]:
    """Flat and sections as markup, the formed part as numbers for the script that turns it."""
    part, blank, units = look.part, look.blank, look.job.units
    letters = [Letter(one.letter, one.face, one.way) for one in lettered(profile, part)]
    first, _ = shown_lines(findings, units)
    flat = flat_picture(part, blank, units, letters, [line.same for line in first])
    return {
        "flat": tag("figure", _flat(flat, part, units)),
        "sections": join(_sections(blank, units, letters)),
        "shape": formed_numbers(blank) if blank.bends else None,
    }


def _flat(flat: Flat, part: Part, units: str) -> Html:
    alt = f"{part.id} laid flat, sizes in {UNIT_NAMES[units]}, with the letters of its fields and what is wrong"
    return svg(flat.drawing, alt, _targets(flat))


def _targets(flat: Flat) -> Html:
    """Faces and edges to point at, over the drawing; the lists beside the picture choose the same."""
    faces = [
        tag("path", d="M" + "L".join(f"{number(x)},{number(-y)}" for x, y in points) + "Z", data_face=face)
        for face, points in flat.faces
    ]
    edges = [
        tag(
            "path",
            d=f"M{number(p[0])},{number(-p[1])}L{number(q[0])},{number(-q[1])}",
            data_face=face,
            data_edge=edge,
        )
        for face, edge, p, q in flat.edges
    ]
    return tag("g", faces, edges, class_="targets")


def _sections(blank: Blank, units: str, letters: Sequence[Letter]) -> list[Html]:
    return [
        tag(
            "figure",
            svg(drawing, f"Section {words}, outside sizes in {UNIT_NAMES[units]}"),
            tag("figcaption", f"Section {words}"),
        )
        for drawing, words in section_pictures(blank, units, letters)
    ]


def refused_figure(refused: RefusedBend, units: Units) -> Html:
    """The stroke that cannot be made, with the tool that it meets."""
    words = f"Bend {refused.bend} from the end of the brake; in its way: {refused.tool}"
    return tag("figure", svg(refused_picture(refused, units), words), tag("figcaption", words))


@lru_cache(maxsize=256)
def _sample(path: Path, stamp: int, units: str) -> Html:
    """A profile's usual part with names of faces and letters of sizes, and what each letter stands for."""
    profile = load_profile(path)
    part, shop = sample_part(profile, units)
    blank = develop(part, shop)
    found = lettered(profile, part)
    letters = [Letter(one.letter, one.face, one.way) for one in found]
    flat = flat_picture(part, blank, units, letters, (), plain=True)
    title = profile.values["title"]
    views = [
        svg(drawing, f"Section of {title}") for drawing, _ in section_pictures(blank, units, letters, plain=True)[:1]
    ]
    names = ", ".join(f"{one.letter} {one.parameter.replace('_', ' ')}" for one in found)
    pair = tag("span", svg(flat.drawing, f"{title} laid flat"), views, class_="pair")
    return join(pair, tag("span", names, class_="note"))


def profile_picture(path: Path, units: str) -> Html:
    """The picture to choose a profile by; made once while its file stays."""
    return _sample(path, budget.stamp(path), units)
