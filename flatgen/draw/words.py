"""What drawings say in words: bends, holes, findings, cautions. Numbers are in the job's units."""

import math
from collections.abc import Iterable

from flatgen.core.bend import allowance_handbook, bend_deduction
from flatgen.develop.nose_change import nose_change
from flatgen.model.blank import BendLine, Blank, BlankHole, ReliefHole
from flatgen.model.finding import Finding
from flatgen.model.part import Part
from flatgen.model.shop import Shop
from flatgen.page.findings import lines, told
from flatgen.tables.general import called
from flatgen.units import format_angle, format_angle_limit, format_length

CAUTIONS = (
    "Geometry only: nothing here says that the part is strong enough. Where this and the drawing differ, the drawing"
    " decides.",
    "Allowances are advisory until a test bend from the same sheet on the same brake has proved them. Edges are sharp.",
)
LINE_NOTE = "The middle of a line is the size: split the line."


def length(mm: float, units: str) -> str:
    """A length with its unit, as on a drawing."""
    return format_length(mm, units, unit=True)


def tolerance_text(part: Part, shop: Shop, units: str) -> str:
    """What sizes without a tolerance of their own may be off: the class, and what the drawing states beside it."""
    usual, given = shop.tolerances, part.tolerance
    words = {
        "length": f"± {format_length(given.length if given else usual.length, units)}",
        "hole": f"holes ± {format_length(given.hole if given else usual.hole, units)}",
        "angle": f"± {format_angle_limit(given.angle if given else usual.angle)}",
    }
    if given is None or not given.general:
        return ", ".join(words.values())
    return ", ".join([called(given.general), *(words[key] for key in words if key in given.stated)])


def bend_note(bend: BendLine, units: str) -> str:
    """Direction, angle, inside radius and what to bend over to, in the trade's order."""
    text = f"{bend.id}: {bend.direction.upper()} {format_angle(bend.angle)} {radius_note(bend, units, unit=True)}"
    return text + over_bend_note(bend)


def radius_note(bend: BendLine, units: str, *, unit: bool = False) -> str:
    """The inside radius; a fold that is closed flat has none."""
    radius = bend.bent.inside_radius
    return f"R {format_length(radius, units, unit=unit)}" if radius > 0.0 else "closed"


def nose_notes(blank: Blank, units: str) -> list[str]:
    """Bends whose nose is not of the drawing's radius, with what that costs; alike bends in one note."""
    alike: dict[tuple[float, float, float], list[str]] = {}
    for bend in blank.bends:
        bent = bend.bent
        if abs(bent.inside_radius - bent.drawing_radius) > 1e-4:
            alike.setdefault((bend.angle, bent.drawing_radius, bent.inside_radius), []).append(bend.id)
    notes = []
    for (angle, asked, radius), names in alike.items():
        change = nose_change(angle, asked, radius)
        notes.append(
            f"{', '.join(names)}: nose R {format_length(radius, units)} in place of the drawing's"
            f" {format_length(asked, units)}; outside sizes stay, the blank is shorter by"
            f" {format_length(change.shorter_blank, units)} a bend, each flat beside it by"
            f" {format_length(change.shorter_flat, units)}."
        )
    return notes


def allowance_notes(blank: Blank, units: str) -> list[str]:
    """By which method each bend's metal is reckoned; the shop's own test bends with what the handbook would say."""
    alike: dict[tuple[str, str, float, float], list[BendLine]] = {}
    for bend in blank.bends:
        bent = bend.bent
        alike.setdefault((bent.method, str(bent.source), bend.angle, bent.inside_radius), []).append(bend)
    methods = {key[0] for key in alike}
    if methods == {"handbook"}:
        return ["Allowance by the handbook's formula."]
    notes = []
    for (method, source, angle, radius), bends in alike.items():
        deduction = bends[0].bent.deduction
        if not math.isfinite(deduction):
            continue
        text = (
            f"{', '.join(bend.id for bend in bends)}: deduction {format_length(deduction, units)} by {source or method}"
        )
        if method == "shop-record":
            thickness = blank.thickness
            usual = bend_deduction(angle, radius, thickness, allowance_handbook(angle, radius, thickness))
            text += f"; the handbook says {format_length(usual, units)}"
        notes.append(f"{text}.")
    return notes


def over_bend_note(bend: BendLine) -> str:
    """Where to send the leaf: a first try, and the range to expect; nothing where the sheet does not spring back."""
    if bend.overbend_to <= bend.angle + 0.05:
        return ""
    return f", over-bend to {over_bend(bend)}"


def over_bend(bend: BendLine) -> str:
    """Leaf angle to try first, with the range to expect in whole degrees.

    The range is rounded outward, since it is no exact figure.
    """
    first = format_angle(round(bend.overbend_to, 1))
    if bend.overbend_range is None:
        return first
    low, high = math.floor(bend.overbend_range[0]), math.ceil(bend.overbend_range[1])
    return f"{first} ({low}-{high})"


def hole_note(hole: BlankHole | ReliefHole, units: str) -> str:
    """Diameter and drill of a hole, and what else is to know of it."""
    size = f"Ø {length(hole.diameter, units)}"
    named = f"{size} ({hole.label})" if hole.label and hole.label not in size else size
    return f"{named}, {hole.remark}" if hole.remark else named


# what a finding means for the work, in the words of the packet and the terminal


def part_head(part: Part) -> str:
    """Part mark, hand and title in one line."""
    return f"{part.name}  {part.title}".rstrip()


def thickness_words(part: Part, units: str) -> str:
    """The thickness that a part is developed with; the nominal one beside it where it differs as shown."""
    made, nominal = (length(t, units) for t in (part.thickness, part.nominal))
    if made == nominal and abs(part.thickness - part.nominal) > 1e-6:
        made = format_length(part.thickness, units, places=4 if units == "in" else 3, unit=True)
    return made if made == nominal else f"{made} (nominal {nominal})"


def material_line(part: Part, blank: Blank, units: str) -> str:
    """Material, thickness and blank size in one line."""
    size = f"{format_length(blank.width, units)} × {length(blank.height, units)}"
    return f"{part.material.name}, T {thickness_words(part, units)}, blank {size}, {part.quantity} off"


def finding_texts(findings: Iterable[Finding], part: str, units: str) -> list[tuple[str, bool]]:
    """A part's findings in words, the waived ones with their reason, without mere notes; the flag asks for bold."""
    own = lines((finding for finding in findings if finding.part == part), units)
    return [
        (f"{line.state.upper()}: {told(line, places=False)}", line.state in ("stop", "waived"))
        for line in own
        if line.state != "note"
    ]


def short_bend_note(bend: BendLine, units: str) -> str:
    """The bend note for a sheet whose title says the unit."""
    return bend_words(bend, units) + over_bend_note(bend)


def bend_words(bend: BendLine, units: str) -> str:
    """A bend with its way, angle and radius, for where the unit is said already."""
    return f"{bend.id} {bend.direction.upper()} {format_angle(bend.angle)} {radius_note(bend, units)}"
