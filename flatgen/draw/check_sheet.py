"""The check sheet of a brake: what to look at directly, which strips to bend, boxes for what is read, what follows."""

from flatgen.core.aligning import ANGLE_ALLOWED, LEAST_LEAF, LEAST_STOP, LEG_ALLOWED, UNSTEADY, Found
from flatgen.core.words import Units
from flatgen.model.plan import Setup
from flatgen.model.shop import Brake, NoseBar
from flatgen.page.content import (
    Beside,
    Cell,
    Content,
    Entry,
    Figure,
    Heading,
    Picture,
    Step,
    Steps,
    Subject,
    Table,
    Words,
)
from flatgen.page.drawing import Contour, Drawing, Item, Text, extents
from flatgen.page.layers import used
from flatgen.said import Text as Said
from flatgen.said import said, size
from flatgen.units import format_angle, format_length

SAFE = "Keep hands clear of leaf and clamp; edges are sharp; wear eye protection. Never bend a strip back."
PLACES = ("left", "middle", "right")
FIVE = ("left", "quarter", "middle", "3 quarters", "right")
HALF_WAY = 0.7125  # of the middle's bow at a quarter of the length: x - 2x³ + x⁴ of an evenly loaded beam, derived
GAUGED = (
    "Set-back: leaf upright, no sheet in, strips of sheet or feelers between nose tip and leaf's face. Set both ends to"
    " the figure above, then write what is there."
)
AGAIN = "Asked again whenever a nose bar or its shoe was changed, and when an end drifts."


def check_subject(
    brake: Brake,
    nose: NoseBar,
    setup: Setup,
    leg: float,
    strip: tuple[float, float, float],
    units: Units,
    number: int,
    anew: str = "",
) -> Subject:
    """The sheet.

    strip : width, length before bending, and how long the long one is along the bar [mm]
    anew : why earlier rounds do not count any more
    """

    def long(mm: float) -> str:
        return format_length(mm, units, unit=True)

    wide, deep, bar = strip
    metal = f"{setup.material} of {long(setup.thickness)}"
    figures = (
        Figure("SET-BACK, both ends", format_length(setup.bare_setback, units), "by the gauge strip", units),
        Figure(
            f"{setup.stop_side.upper()} STOP", format_length(setup.stop_shown, units), f"from {setup.read_from}", units
        ),
        Figure("LEAF to", format_angle(setup.overbend_to)),
    )
    cut = (
        f"Cut of {metal}, the stiffest sheet of the shop: three strips {long(wide)} wide and {long(deep)} long, and one"
        f" as long as the bar, {long(bar)} by {long(deep)}. Mark them L, M, R and LONG; burrs off."
    )
    bend = (
        "Clamp L, M and R in one clamping at the left end, the middle and the right end of the bar, each against the"
        " stop; bend. Then the long strip alone. Measure on each the clamped leg, outside, and the angle."
    )
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (name, *(Entry(f"check/{key}/{place}", f"{name} at {place}", "", 8.0) if place else "" for place in places))
        for key, name, places in (
            ("gauge", f"set-back, {units}", ("left", "", "right")),
            ("narrow-legs", f"L, M, R: leg, {units}", PLACES),
            ("narrow-angles", "L, M, R: angle, deg", PLACES),
            ("long-legs", f"long strip: leg, {units}", PLACES),
            ("long-angles", "long strip: angle, deg", PLACES),
        )
    )
    gap = f"gap under the nose, {units}"
    gaps: tuple[Cell, ...] = (gap, *(Entry(f"check/gaps/{place}", f"{gap} at {place}", "", 8.0) for place in FIVE))
    wanted = (
        f"Wanted: leg {long(leg)}, angle 90°. Square: legs within {long(LEG_ALLOWED)}, angles within"
        f" {ANGLE_ALLOWED:g}°."
    )
    contents: list[Content] = [
        Words(f"{anew}: asked again." if anew else AGAIN, "strong"),
        Picture(_picture(units), "the bar from the front with the three narrow strips and the long one", tall=34.0),
        Beside(tuple((1.0, (figure,)) for figure in figures)),
        Heading("Do"),
        Steps(
            (
                Step("Bed level and bolted down, nose clean, leaf flush with the bed or a hair below.", "check/level"),
                Step(GAUGED, "check/gauge"),
                Step("Close lightly; paper strips at five places: write the gap under the nose.", "check/gaps"),
                Step(cut, "check/cut"),
                Step(bend, "check/bend"),
                Step(
                    "flatgen brake align SHOP --ask enters it and says what to move. Move, bend again.", "check/enter"
                ),
            )
        ),
        Table("Gap", ("", *FIVE), (gaps,), shares=(52.0, *[26.0] * 5)),
        Table("What was read", ("", *PLACES), rows, shares=(62.0, 40.0, 40.0, 40.0)),
        Words(wanted),
        Words("Legs tell which end; the long strip against the narrow ones tells the bow under load, which they hide."),
    ]
    title = f"CHECK OF BRAKE {brake.name}"
    return Subject(
        "brake-check",
        title,
        tuple(contents),
        side=f"round {number}",
        under=f"nose bar {nose.name.removeprefix('nose ')}; {metal}",
    )


def _picture(units: Units) -> Drawing:
    """The bar from the front: bed, nose, strips."""

    def box(x: float, y: float, wide: float, tall: float, layer: str, *, filled: bool = True) -> list[Item]:
        shape = ((x, y, 0.0), (x + wide, y, 0.0), (x + wide, y + tall, 0.0), (x, y + tall, 0.0))
        return [*([Contour(layer, shape, filled=True)] if filled else []), Contour("formed", shape)]

    items = [*box(0, 0, 170, 8, "tool"), *box(0, 10, 170, 8, "tool")]
    for x, name in ((4, "L"), (80, "M"), (156, "R")):
        items += [*box(x, -4, 10, 13, "metal"), Text("note", (x + 5, 20), name, 2.5, "middle")]
    items += [*box(4, -16, 162, 5, "metal"), Text("note", (168, -14.8), "LONG", 2.5)]
    x0, y0, x1, y1 = extents(items)
    return Drawing("strips", (x1 - x0, y1 - y0), tuple(items), used(items), units, origin=(x0, y0))


def advice(found: Found, stop_side: str) -> tuple[Said, ...]:
    """What to move, and why; one sentence each."""
    if found.misfit > UNSTEADY:
        return (
            "the readings fit no setting of nose, leaf and shims: the brake does not repeat. Look for play in the hinge"
            " pins (renew them from 0.2 mm), a clamp that slips, a frame that racks; bend five equal strips: they must"
            " agree within 1°",
        )
    if found.square:
        return (said("square: ", _shows(found), "; nothing to move"), *_short(found))
    moves = found.moves
    lines: list[Said] = []
    for end, move in (("left", moves.left), ("right", moves.right)):
        if move:
            lines.append(said(f"{end} end of the nose: {'back' if move > 0 else 'forward'} by ", size(abs(move))))
    if moves.shim > 0:
        quarter = size(HALF_WAY * moves.shim)
        lines.append(said("shim ", size(moves.shim), " under the middle of the nose, ", quarter, " at its quarters"))
    elif moves.shim < 0:
        lines.append(said("take ", size(-moves.shim), " of shims or crown out of the middle"))
    if moves.twist:
        lines.append(f"leaf: its right end {abs(moves.twist):.2f}° {'farther' if moves.twist > 0 else 'less far'}")
    if moves.stop:
        away = "from the bed's edge" if moves.stop > 0 else "toward the bed's edge"
        lines.append(said(f"{stop_side} stop, both ends: {away} by ", size(abs(moves.stop))))
    if moves.leaf:
        lines.append(f"leaf's stop: {abs(moves.leaf):.1f}° {'farther' if moves.leaf > 0 else 'less far'}")
    return tuple(lines) or ("nothing that can be set by hand is off; bend a round again",)


def _shows(found: Found) -> Said:
    """What the strips tell of a bar-long one."""
    legs, angles = max(map(abs, found.legs)), max(map(abs, found.angles))
    return said(
        "a strip as long as the bar comes within ",
        size(legs),
        f" of its leg and {angles:.1f}° of its angle at left, middle and right, ",
        size(LEG_ALLOWED),
        f" and {ANGLE_ALLOWED:g}° are allowed",
    )


def _short(found: Found) -> tuple[Said, ...]:
    """Where short parts bow the beam less than the long strip that it was shimmed for."""
    leg, angle = found.short
    if abs(leg) <= LEAST_STOP and abs(angle) <= LEAST_LEAF:
        return ()
    leg_words: Said = said("a leg ", size(abs(leg)), " longer" if leg > 0 else " shorter")
    turned = f"{abs(angle):.1f}° {'farther' if angle > 0 else 'less far'}"
    return (
        said("short parts in the middle bow the beam less: ", leg_words, f", bent {turned}; set theirs by the first"),
    )


def about(found: Found) -> Said:
    """What the brake is like, as far as it has shown."""
    leg, angle, _, _, _ = found.factors
    return said(
        "set-back beyond what it should be: left ",
        size(found.left),
        ", right ",
        size(found.right),
        "; the middle bows ",
        size(found.bow + found.loaded),
        " under a long strip, ",
        size(found.loaded),
        f" of it under load alone; the leaf twists {found.twist:.2f}°; this brake answers to set-back {leg:.1f} (leg)"
        f" and {angle:.1f} (angle) times as the model does",
    )
