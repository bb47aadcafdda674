"""The part when it is formed: metal in two places at once, fits to a mate, hands."""

from collections.abc import Iterator

from flatgen.checks.rules import Seen, rule
from flatgen.core.points import distance
from flatgen.core.words import extent, size
from flatgen.develop.collide import collisions
from flatgen.model.blank import Blank
from flatgen.model.finding import Severity
from flatgen.model.part import Part
from flatgen.model.shop import Shop
from flatgen.model.source import DERIVED, PRACTICE


@rule("collision-when-formed", severity=Severity.FORBID, source=DERIVED)
def collision_when_formed(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """No two flats of the formed part stand in the same place."""
    for one, two, area in collisions(blank):
        text = f"{one} and {two} run into one another when formed, over {extent(area)}: shorten, mitre or notch one"
        yield Seen(f"{one}, {two}", area, 0.0, text, unit="mm²")


@rule("fit-to-mate", severity=Severity.WARN, source=PRACTICE)
def fit_to_mate(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """A part that goes over or into another has the clearance that is wanted there."""
    for fit in part.fits:
        own = next(d for d in blank.dimensions if d.where == fit.face and d.axis == fit.across)
        play = own.inside - fit.their_size if fit.way == "over" else fit.their_size - own.outside
        if abs(play - fit.clearance) > fit.allowed + 1e-9:
            text = (
                f"{fit.face} goes {fit.way} {fit.their_face} of {fit.part} with {size(play)} of play;"
                f" {size(fit.clearance)} is wanted, give or take {size(fit.allowed)}"
            )
            yield Seen(f"{fit.face}, {fit.part}", play, fit.clearance, text)


@rule("hand", severity=Severity.NOTE, source=DERIVED)
def hand(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """Whether the right hand is the left one's blank turned over, a mirror image, or the same part."""
    if part.hand != "right":
        return
    if part.marked:
        yield Seen(
            "blank", None, None, f"cut as a mirror image: its {part.marked} side is marked and must not turn over"
        )
    elif is_symmetric(blank):
        yield Seen("blank", None, None, "left and right are the same part: nothing tells the hands apart")
    else:
        yield Seen("blank", None, None, "the left hand's blank turned over; every bend then goes the other way")


def is_symmetric(blank: Blank) -> bool:
    """Whether a blank, turned by some quarter, is its own mirror image with every bend alike."""
    # relative to the corner of the outline's points, so that an arc that bulges beyond them does not matter
    own = _turned(blank, 0, 1.0)
    for quarter in range(4):
        other = _turned(blank, quarter, -1.0)
        if len(own) == len(other) and all(any(_alike(a, b) for b in other) for a in own):
            return True
    return False


Mark = tuple[float, float, float, str]


def _marks(blank: Blank) -> list[Mark]:
    """Corners, holes and bends of a blank as points with what they are."""
    found: list[Mark] = [(x, y, 0.0, "corner") for x, y, _ in blank.outline]
    for hole in blank.holes:
        found.append((*hole.center, hole.diameter, "hole"))
    drilled = {hole.cutout for hole in blank.holes}
    for k, cutout in enumerate(blank.cutouts):
        if k not in drilled:
            found += [(x, y, 0.0, "opening") for x, y, _ in cutout]
    for bend in blank.bends:
        found += [(*end, bend.signed_angle, "bend") for end in bend.centerline]
    return found


def _turned(blank: Blank, quarter: int, sign: float) -> list[Mark]:
    """Marks of the blank (1) or its mirror image (-1), turned by quarters and put back to its corner."""
    found = []
    for x, y, size_, kind in _marks(blank):
        x *= sign
        for _ in range(quarter):
            x, y = -y, x
        found.append((x, y, size_, kind))
    # the outline's own corner: a bend or hole may not reach as far
    x0 = min(m[0] for m in found if m[3] == "corner")
    y0 = min(m[1] for m in found if m[3] == "corner")
    return [(x - x0, y - y0, s, k) for x, y, s, k in found]


def _alike(a: Mark, b: Mark) -> bool:
    return a[3] == b[3] and abs(a[2] - b[2]) < 1e-6 and distance(a[:2], b[:2]) < 1e-4
