"""The survey of a brake on two pages: a picture for each figure, how it is measured, a box for the answer."""

from collections.abc import Callable, Sequence

from flatgen.core.points import Point
from flatgen.core.words import UNIT_NAMES, Units
from flatgen.model.shop import Brake, NoseBar
from flatgen.model.survey import STATIONS, Measure, Station
from flatgen.page.content import Beside, Content, Entry, Heading, Picture, Subject, Words
from flatgen.page.drawing import Contour, Drawing, Item, Line, LinearDimension, Text, extents
from flatgen.page.layers import used
from flatgen.units import format_angle, format_force, format_length

BED: tuple[Point, ...] = ((0, 0), (-30, 0), (-30, -16), (0, -16))
LEAF: tuple[Point, ...] = ((0, 0), (6, 0), (6, -15), (0, -15))
NOSE: tuple[Point, ...] = ((-1.6, 1), (-1.1, 1.6), (-1.2, 2.6), (-9, 10), (-18, 10), (-18, 1))
BEAM: tuple[Point, ...] = ((-9, 10), (-9, 16), (-26, 16), (-26, 10))
SMALL = 2.0
TITLE = "SURVEY OF A HAND BRAKE"
FIRST = (
    "Measure before you plan, and before you buy. Write into the boxes; flatgen brake enter SHOP --ask takes them and"
    " marks them measured. Leave empty what the brake does not have."
)
SAFE = "Keep hands clear of leaf, clamp and counterweight; lock the leaf before you reach under it; edges are sharp."


def _shape(points: Sequence[Point], at: Point = (0.0, 0.0)) -> list[Item]:
    outline = tuple((x + at[0], y + at[1], 0.0) for x, y in points)
    return [Contour("tool", outline, filled=True), Contour("formed", outline)]


def _side(lift: float = 0.0, *, leaf_up: bool = False) -> list[Item]:
    """The brake from its end: bed, leaf, nose bar under its beam; lifted, or with the leaf up."""
    leaf = tuple((-y, x) for x, y in LEAF) if leaf_up else LEAF
    parts = (*_shape(BED), *_shape(leaf), *_shape(NOSE, (0.0, lift)), *_shape(BEAM, (0.0, lift)))
    return list(parts)


def _front(bar: Sequence[tuple[float, float]] = ((0.0, 60.0),), over: float = 0.0) -> list[Item]:
    """The brake from the front: bed below, nose bar or its fingers above."""
    items = _shape(((0, 0), (60, 0), (60, -8), (0, -8)))
    for low, high in bar:
        items += _shape(((low, over), (high, over), (high, over + 8), (low, over + 8)))
    return items


def _size(start: Point, end: Point, line_at: Point, angle: float, letter: str) -> Item:
    return LinearDimension("dimension", start, end, line_at, angle, letter, SMALL)


def _length() -> list[Item]:
    return [*_front(), _size((0, -8), (60, -8), (30, -13), 0, "A")]


def _travel() -> list[Item]:
    arc = tuple((9 * c, 9 * s, 0.0) for c, s in ((1, 0), (0.87, 0.5), (0.5, 0.87), (0, 1), (-0.34, 0.94)))
    return [*_side(), Contour("formed", tuple((-y, x, 0.0) for x, y in LEAF)), Contour("dimension", arc, closed=False),
            Text("dimension", (8, 8), "A", SMALL)]  # fmt: skip


def _opening() -> list[Item]:
    low, flap = ((0, 0), (-30, 0), (-30, -5), (0, -5)), ((0, 0), (6, 0), (6, -5), (0, -5))
    return [
        *_shape(low),
        *_shape(flap),
        *_shape(NOSE, (0.0, 9.0)),
        *_shape(((-9, 19), (-9, 23), (-26, 23), (-26, 19))),
        _size((-3, 10), (-3, 0), (9, 5), 90, "A"),
        _size((-1.6, 23), (-26, 23), (-14, 26), 0, "C"),
        _size((-1.6, 10), (-32, 10), (-16, 4), 0, "B"),
        Line("frame", (-32, -5), (-32, 26)),
    ]


def _leaf() -> list[Item]:
    return [
        *_shape(BED),
        *_shape(LEAF),
        _size((0, 0), (6, 0), (3, 4), 0, "A"),
        _size((6, 0), (6, -15), (11, -7), 90, "B"),
        _size((-30, 0), (0, 0), (-15, 4), 0, "C"),
        _size((-30, 0), (-30, -16), (-35, -8), 90, "D"),
    ]


def _hinge() -> list[Item]:
    pin = (2.5, 1.5)
    turned = ((pin[0] - 1, pin[1], 1.0), (pin[0] + 1, pin[1], 1.0))
    return [
        *_shape(BED),
        *_shape(LEAF),
        Contour("hole", turned),
        _size((0, 0), (pin[0], pin[1]), (1.2, 7), 0, "A"),
        _size((-6, 0), (pin[0], pin[1]), (-9, 1), 90, "B"),
        _size((6, -15), (6, -17), (12, -16), 90, "C"),
        Line("dimension", (0, -17), (6, -17)),
    ]


def _nose() -> list[Item]:
    big = tuple((2.2 * x, 2.2 * (y - 1)) for x, y in NOSE)
    return [
        *_shape(big),
        Text("dimension", (-1.0, 4.5), "A", SMALL),
        _size(big[0], big[-1], (-20, -4), 0, "B"),
        _size(big[-1], big[-2], (-44, 10), 90, "C"),
        Text("dimension", (-7, 13), "D", SMALL),
    ]


def _bar() -> list[Item]:
    return [*_front(((6.0, 54.0),)), _size((9, 8), (51, 8), (30, 12), 0, "A")]


def _fingers() -> list[Item]:
    widths = ((0.0, 9.0), (10.0, 17.0), (18.0, 33.0), (34.0, 60.0))
    return [
        *_front(widths),
        *(_size((a, 8), (b, 8), (a, 12), 0, "") for a, b in widths),
        Text("dimension", (4, 13), "A", SMALL),
    ]


def _setback() -> list[Item]:
    return [*_side(), _size((-1.6, 1), (0, 0), (-1, -20), 0, "A")]


def _stops() -> list[Item]:
    back = _shape(((-26, 0), (-24, 0), (-24, 6), (-26, 6)))
    front = _shape(((18, 0), (20, 0), (20, 5), (18, 5)))
    return [*_shape(BED), *_shape(((0, 0), (22, 0), (22, -4), (0, -4))), *_shape(NOSE), *back, *front,
            _size((-24, 0), (0, 0), (-12, -20), 0, "A"), _size((0, 0), (18, 0), (9, -9), 0, "B")]  # fmt: skip


def _bow() -> list[Item]:
    bowed = ((0, 0), (15, -1.6), (30, -2.2), (45, -1.6), (60, 0), (60, -8), (0, -8))
    edge = _shape(((-2, 0.2), (62, 0.2), (62, 4), (-2, 4)))
    return [*_shape(bowed), *edge, _size((30, 0.2), (30, -2.2), (66, -1), 90, "A")]


def _gaps() -> list[Item]:
    items = _front(over=1.0)
    for k in range(5):
        x = 2.0 + 14.0 * k
        items += [Line("stop", (x, 0.5), (x, -11)), Text("dimension", (x + 0.8, -12), f"A{k + 1}", SMALL)]
    return items


def _plate() -> list[Item]:
    texts = ("CAPACITY", "mild steel", "A")
    return [Contour("frame", ((0, 0, 0), (40, 0, 0), (40, 16, 0), (0, 16, 0))),
            *(Text("note", (20, 11.5 - 4.5 * k), text, SMALL, "middle") for k, text in enumerate(texts))]  # fmt: skip


def _handle() -> list[Item]:
    bar = _shape(((6, -3), (34, -3), (34, -4.5), (6, -4.5)))
    return [*_shape(BED), *_shape(LEAF), *bar, _size((0, 0), (32, -3), (16, 4), 0, "A"),
            Line("stop", (32, -3), (32, 7)), Text("dimension", (33, 4), "B: pull", SMALL)]  # fmt: skip


PICTURES: dict[str, Callable[[], list[Item]]] = {
    "length": _length,
    "travel": _travel,
    "opening": _opening,
    "leaf": _leaf,
    "hinge": _hinge,
    "nose": _nose,
    "bar": _bar,
    "fingers": _fingers,
    "setback": _setback,
    "stops": _stops,
    "bow": _bow,
    "gaps": _gaps,
    "plate": _plate,
    "handle": _handle,
}


def survey_subject(brake: Brake | None, nose: NoseBar | None, units: Units) -> Subject:
    """The survey; with a brake, what its shop file has stands beside each box, and whether it was measured."""
    cells = [_cell(station, brake, nose, units) for station in STATIONS]
    rows = [Beside(tuple((1.0, cell) for cell in cells[k : k + 2])) for k in range(0, len(cells), 2)]
    name = f"brake {brake.name}" if brake else "brake ____________________"
    bar = nose.name.removeprefix("nose ") if nose else "____________________"
    under = f"{name}; nose bar {bar}; sizes in {UNIT_NAMES[units]}"
    return Subject("survey", TITLE, (Words(FIRST), Words(SAFE, "caution"), *rows), under=under)


def station_picture(station: Station, units: Units) -> Picture:
    """Where the figures of a station are measured, by letters."""
    items = PICTURES[station.picture]()
    x0, y0, x1, y1 = extents(items)
    drawing = Drawing(station.title, (x1 - x0, y1 - y0), tuple(items), used(items), units, origin=(x0, y0))
    letters = ", ".join("ABCD"[: len(station.measures)])
    return Picture(drawing, f"{station.title}: where {letters} is measured", tall=25.0)


def _cell(station: Station, brake: Brake | None, nose: NoseBar | None, units: Units) -> tuple[Content, ...]:
    entries: list[Content] = []
    for letter, measure in zip("ABCD", station.measures, strict=False):
        now = _now(measure, brake, nose, units)
        entries += [
            Words(f"{letter}: {measure.ask}. {measure.how}", "quiet"),
            Entry(f"survey/{measure.owner}/{measure.key}", measure.ask, f"now {now}" if now else "", 5.5),
        ]
    return (Heading(station.title, 2), station_picture(station, units), *entries)


def _now(measure: Measure, brake: Brake | None, nose: NoseBar | None, units: Units) -> str:
    owner = nose if measure.owner == "nose" else brake
    value = getattr(owner, measure.key, None) if owner is not None else None
    if owner is None or value is None or value == ():
        return ""
    guess = ", a guess" if measure.key in owner.guessed else ""
    return f"{said_value(measure.key, value, units)}{guess}"


def said_value(key: str, value: object, units: Units) -> str:
    """A figure of the brake in words."""
    if isinstance(value, tuple):
        return ", ".join(format_length(one, units) for one in value)
    assert isinstance(value, float | int)
    if key.endswith("angle"):
        return format_angle(value)
    return format_force(value, units) if key == "leaf_lift" else format_length(value, units)
