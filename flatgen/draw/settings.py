"""Brake settings as subjects: what to change, the figures to set, one table of all bends made with them, what to try on
the first piece and what to do when it is wrong. One setting is at most a page; two small ones share it. Lengths mm.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from flatgen.core.words import Units, counted
from flatgen.draw.setup_views import plan_view, section_view
from flatgen.model.blank import Blank
from flatgen.model.handling import lay_words, out_words
from flatgen.model.part import Part
from flatgen.model.plan import BrakePlan, Operation, Setup
from flatgen.page.content import Beside, Content, Count, Facts, Figure, Picture, Subject, Table, Words
from flatgen.page.drawing import Drawing, Item
from flatgen.page.layers import used
from flatgen.units import format_angle, format_angle_limit, format_length

Stroke = tuple[Operation, tuple[str, ...]]
GAUGE_STEP = 0.25  # leaf gauges are cut at every quarter degree
SECTION, PLAN = (21.0, 27.0), (46.0, 28.0)
IN_A_ROW = 2  # ways to lie that are pictured beside each other
HEADS = ("part", "bend", "against the stop", "lay it", "pieces", "done")
SHARES = (30.0, 14.0, 46.0, 42.0, 16.0, 42.0)


def setting_subjects(
    plan: BrakePlan, parts: Mapping[str, Part], blanks: Mapping[str, Blank], units: Units
) -> tuple[Subject, ...]:
    """Every setting in order."""
    return tuple(_setting(plan, setup, parts, blanks, units) for setup in plan.setups)


def leaf_gauge(leaf_angle: float) -> float:
    """The leaf gauge nearest to an angle [deg].

    >>> leaf_gauge(94.1), leaf_gauge(93.4)
    (94.0, 93.5)
    """
    return round(leaf_angle / GAUGE_STEP) * GAUGE_STEP


def gauge_name(angle: float) -> str:
    """A gauge's name, to a tenth.

    >>> gauge_name(94.25), gauge_name(94.0)
    ('94.2', '94.0')
    """
    return f"{math.floor(angle * 10.0 + 1e-9) / 10.0:.1f}"


def part_name(part: Part) -> str:
    """The part's mark with its hand, where it has one."""
    return part.name


def strokes(setup: Setup) -> list[Stroke]:
    """Operations of a setting, bends made at one stroke taken together."""
    found: dict[tuple[str, int], list[Operation]] = {}
    for op in setup.operations:
        found.setdefault((op.part, op.step), []).append(op)
    return [
        (replace(ops[0], clamped=", ".join(dict.fromkeys(op.clamped for op in ops))), tuple(op.bend for op in ops))
        for ops in found.values()
    ]


def _setting(
    plan: BrakePlan, setup: Setup, parts: Mapping[str, Part], blanks: Mapping[str, Blank], units: Units
) -> Subject:
    listed = strokes(setup)
    contents: list[Content] = [Words(change_words(setup), "strong")]
    if setup.coupon_first:
        contents.append(
            Words("Test strip first: this metal is new on this nose. Measure, enter, print anew.", "decide")
        )
    contents += [
        Beside(((1.0, (_stop(setup, units),)), (1.0, (_leaf(setup),)), (1.0, (_setback(setup, units),)))),
        _first_piece(listed, units),
        _table(setup, listed, parts),
    ]
    advice = (
        Words(f"Wrong? {' '.join(correction_words(setup, listed[0][0]))}"),
        *(Words(text, "strong") for text in _warnings(listed, units)),
    )
    pictures = _pictures(setup, listed, blanks, units)
    if len(pictures) == 1:
        contents.append(Beside(((1.0, tuple(pictures)), (1.0, advice))))
    else:
        rows = [pictures[k : k + IN_A_ROW] for k in range(0, len(pictures), IN_A_ROW)]
        contents += [Beside(tuple((1.0, tuple(row[k : k + 1])) for k in range(IN_A_ROW))) for row in rows]
        contents += advice
    metal = f"{setup.material}, T {_len(setup.thickness, units)}"
    return Subject(
        f"setting-{setup.number}",
        f"SETTING {setup.number} of {plan.planned.settings}",
        tuple(contents),
        side=f"nose {setup.nose}",
        under=f"{metal}   brake {setup.brake}   {counted(setup.pieces or sum(o.pieces for o, _ in listed), 'bend')}",
        whole=False,
    )


def change_words(setup: Setup) -> str:
    """What to set anew against the setting before."""
    names = {"nose": "nose bar", "set-back": "set-back", "leaf": "leaf", "stop": "stop"}
    if len(setup.changes) == len(names):
        return f"Set anew: {', '.join(names.values())}."
    kept = [names[n] for n in names if n not in setup.changes]
    return f"Change: {', '.join(names[n] for n in setup.changes)}. Leave {', '.join(kept)}."


def _stop(setup: Setup, units: Units) -> Figure:
    if setup.stop_side == "sight":
        return Figure("NO STOP", "sight line", "Line flush under the nose tip, seen straight down.")
    where = f"{setup.stop_side.upper()} stop, from {setup.read_from}"
    if setup.stop_side == "front":
        note = "Set, clamp, TAKE AWAY, then bend."
    elif setup.stop_pad:
        note = f"Face no higher than {_len(setup.stop_pad, units)}."
    else:
        note = "Face no higher than the sheet."
    return Figure(where, _len(setup.stop_shown, units), note)


def _leaf(setup: Setup) -> Figure:
    nearest = gauge_name(leaf_gauge(setup.overbend_to))
    return Figure(
        f"LEAF, gauge {nearest}",
        format_angle(setup.overbend_to),
        f"{format_angle(180.0 - setup.overbend_to)} between bed and leaf.",
    )


def _setback(setup: Setup, units: Units) -> Figure:
    where = "behind the bed's edge" if setup.bare_setback >= 0 else "IN FRONT of the bed's edge"
    bare = "Bare nose tip" if setup.wrap else "Nose tip"
    return Figure("SET-BACK, both ends", _len(abs(setup.bare_setback), units), f"{bare} {where}.")


def _first_piece(listed: Sequence[Stroke], units: Units) -> Content:
    """What the first piece of each part must measure."""
    rows = []
    for op, bends in listed:
        said = f"{format_angle(op.angle)} ±{format_angle_limit(op.angle_tolerance)} at left, middle, right"
        if op.leg_drawn is not None:
            said = f"leg {op.leg} {format_length(op.leg_drawn, units)} ±{_len(op.tolerance, units)}, {said}"
        rows.append((said, f"{op.part} {', '.join(bends)}"))
    grouped: dict[str, list[str]] = {}
    for said, which in rows:
        grouped.setdefault(said, []).append(which)
    if len(grouped) == 1:
        return Facts((("Try the first piece of each", next(iter(grouped))),))
    return Facts(tuple((f"Try {', '.join(which)}", said) for said, which in grouped.items()))


def _table(setup: Setup, listed: Sequence[Stroke], parts: Mapping[str, Part]) -> Table:
    """All bends of the setting."""
    rows = []
    for op, bends in listed:
        part = parts[op.part]
        key = f"bent/{op.part}/{'+'.join(bends)}"
        rows.append(
            (
                part_name(part) + (f", step {op.step}" if op.step > 1 else ""),
                ", ".join(bends),
                f"{op.gauge or 'no edge: sight line'}; {op.clamped} under the nose",
                " ".join(filter(None, (lay_words(op), out_words(op)))),
                str(op.pieces),
                Count(key, f"pieces of {op.part} bent at {', '.join(bends)}", op.pieces),
            )
        )
    return Table(f"Bends at setting {setup.number}", HEADS, tuple(rows), numbers=(4,), shares=SHARES)


def _pictures(setup: Setup, listed: Sequence[Stroke], blanks: Mapping[str, Blank], units: Units) -> list[Picture]:
    """Each way to lie once."""
    alike: dict[tuple[object, ...], list[Stroke]] = {}
    for op, bends in listed:
        if op.picture is not None:
            alike.setdefault((lay_words(op), op.gauge_kind, _shape(op)), []).append((op, bends))
    found = []
    for same in alike.values():
        op = same[0][0]
        which = ", ".join(f"{other.part} {', '.join(bends)}" for other, bends in same)
        found.append(_picture(op, setup, blanks[op.part].grain, units, which))
    return found


def _shape(op: Operation) -> tuple[int, ...]:
    return tuple(len(outline) for outline in op.picture.before) if op.picture else ()


def _picture(op: Operation, setup: Setup, grain: float | None, units: Units, which: str) -> Picture:
    """From above with the operator at the foot, and from the side: before the bend, and with the leaf up."""
    picture = op.picture
    assert picture is not None
    items: list[Item] = [*plan_view(op, setup, (0.0, 0.0, *PLAN), units, grain)]
    x = PLAN[0]
    items += section_view(picture, picture.before, (x, 1.0, x + SECTION[0], SECTION[1]), leaf_up=False)
    x += SECTION[0] + 1.0
    items += section_view(picture, picture.after, (x, 1.0, x + SECTION[0], SECTION[1]), leaf_up=True)
    drawing = Drawing(f"{op.part} {op.bend}", (x + SECTION[0], PLAN[1]), tuple(items), used(items), units)
    alt = f"{op.part} {op.bend} in the brake: from above, from the side before the bend, and with the leaf up"
    return Picture(drawing, alt, tall=PLAN[1], caption=which)


def correction_words(setup: Setup, op: Operation) -> list[str]:
    """What to do when the first piece is off, in words with a direction."""
    words = []
    if setup.stop_side != "sight":
        toward = "toward the bed" if setup.stop_side == "front" else "toward the nose"
        words.append(f"Leg long: stop {toward} by as much; short: away from it.")
    gain = setup.overbend_to / op.angle if op.angle else 1.0
    words.append(f"Open by 1°: leaf {gain:.2f}° farther. One end open: see the check sheet. Never bend back.")
    return words


def _warnings(listed: Sequence[Stroke], units: Units) -> list[str]:
    """What to mind, each once with the bends that it is about."""
    found: dict[str, list[str]] = {}
    for op, bends in listed:
        name = f"{op.part} {', '.join(bends)}"
        if op.fingers and op.room_for_fingers:
            low, high = (format_length(v, units) for v in op.room_for_fingers)
            widths = " + ".join(format_length(f, units) for f in op.fingers)
            found.setdefault(f"fingers {widths} between the walls ({low} to {high} fits)", []).append(name)
        if op.clearance is not None and op.clearance < 1.6:
            found.setdefault(f"passes the {op.nearest_tool} by only {_len(op.clearance, units)}", []).append(name)
        if op.grain_to_bend is not None and op.grain_to_bend < 30.0:
            found.setdefault("bends along the grain: look for cracks with a glass", []).append(name)
    return [f"{', '.join(names)}: {text}." for text, names in found.items()]


def _len(mm: float, units: Units) -> str:
    return format_length(mm, units, unit=True)
