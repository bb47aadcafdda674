"""What a brake setting says: what to change, the figures to set, the first piece, what to do when it is wrong.

Every figure is the one to set or to measure; what else is known of it stands one fold away. Lengths mm, angles deg.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

from flatgen.core.words import Units
from flatgen.draw.gauges import leaf_gauge_name
from flatgen.model.handling import CLOSED, seat_words
from flatgen.model.plan import BrakePlan, Operation, Setup
from flatgen.page.blocks import FIGURE
from flatgen.page.content import Beside, Facts, Figure
from flatgen.page.lettering import text_width
from flatgen.units import format_angle, format_angle_limit, format_length

Stroke = tuple[Operation, tuple[str, ...]]
NAMES = {"nose": "nose bar", "set-back": "set-back", "leaf": "leaf", "stop": "stop"}
NEAR = 1.6  # a tool that passes nearer than this is named [mm]
ALONG = 30.0  # a bend is along the grain up to here [deg]
CAUTION = "Hands clear of leaf and clamp. Eye protection. Edges are sharp. The drawing decides."


def strokes(setup: Setup) -> list[Stroke]:
    """Operations of a setting, bends made at one stroke taken together."""
    found: dict[tuple[str, int], list[Operation]] = {}
    for op in setup.operations:
        found.setdefault((op.part, op.step), []).append(op)
    return [
        (replace(ops[0], clamped=", ".join(dict.fromkeys(op.clamped for op in ops))), tuple(op.bend for op in ops))
        for ops in found.values()
    ]


def named(stroke: Stroke) -> str:
    """Part and bends."""
    return f"{stroke[0].part} {', '.join(stroke[1])}"


def nose_title(setup: Setup) -> str:
    """The nose with its shoe and fingers, said to be one where its name does not."""
    return setup.nose if "nose" in setup.nose.lower() else f"nose {setup.nose}"


def change_words(setup: Setup) -> str:
    """What to set anew against the setting before."""
    if setup.stop_side == "squeeze":
        return "Nothing to set on the brake: it stands for the setting after this."
    if not setup.changes:
        return "Nothing to set: the brake stands as it should."
    if len(setup.changes) == len(NAMES):
        return f"Set anew: {', '.join(NAMES.values())}. A bar newly fitted: check sheet first."
    kept = [NAMES[n] for n in NAMES if n not in setup.changes]
    return f"Change: {', '.join(NAMES[n] for n in setup.changes)}. Leave {', '.join(kept)}."


def figures(setup: Setup, units: Units) -> tuple[Figure, ...]:
    """Stop, leaf and set-back; for a fold that is squeezed shut, over what."""
    if setup.stop_side == "squeeze":
        if setup.stop < CLOSED:
            return (Figure("SQUEEZE the fold", "flat", "Until it is shut."),)
        value = format_length(setup.stop, units)
        return (Figure("SQUEEZE the fold over a strip", value, "A strip so thick lies in it.", units),)
    return (_stop(setup, units), _leaf(setup), _setback(setup, units))


def figure_row(setup: Setup, units: Units) -> Beside:
    """The figures beside each other, as wide as they are."""
    return Beside(tuple((text_width(f.value, FIGURE, True) + 12.0, (f,)) for f in figures(setup, units)))


def _stop(setup: Setup, units: Units) -> Figure:
    if setup.stop_side == "sight":
        return Figure("NO STOP", "sight line", "Line flush under the nose tip, seen straight down.")
    label = f"{setup.stop_side.upper()} stop, from {setup.read_from}"
    return Figure(label, format_length(setup.stop_shown, units), _face(setup, units), units)


def _face(setup: Setup, units: Units) -> str:
    """How to use the stop: a front one goes away before the leaf moves, a back one's face is only so high."""
    if setup.stop_side == "front":
        return "Set, clamp, TAKE AWAY, then bend."
    if setup.stop_pad:
        return f"Its face no higher than {_len(setup.stop_pad, units)}."
    return "Its face no higher than the sheet."


def _leaf(setup: Setup) -> Figure:
    gauge = leaf_gauge_name(setup.overbend_to)
    between = format_angle(180.0 - setup.overbend_to)
    return Figure(f"LEAF to gauge {gauge}", format_angle(setup.overbend_to), f"{between} between bed and leaf.")


def _setback(setup: Setup, units: Units) -> Figure:
    where = "behind the bed's edge" if setup.bare_setback >= 0 else "IN FRONT of the bed's edge"
    bare = "Bare nose tip" if setup.wrap else "Nose tip"
    value = format_length(abs(setup.bare_setback), units)
    return Figure("SET-BACK, both ends", value, f"{bare} {where}.", units)


def first_words(setup: Setup, listed: Sequence[Stroke], units: Units) -> Facts:
    """What the first piece of each part must measure, with limits."""
    grouped: dict[str, list[str]] = {}
    for stroke in listed:
        grouped.setdefault(_limits(stroke[0], setup.thickness, units), []).append(named(stroke))
    if len(grouped) == 1:
        return Facts((("TRY the first piece", next(iter(grouped))),))
    return Facts(tuple((f"TRY {', '.join(which)}", said) for said, which in grouped.items()))


def _limits(op: Operation, thickness: float, units: Units) -> str:
    if op.gap is not None and not op.squeezed:  # its leg can be measured once it is closed
        return f"about {format_angle(op.angle)}, closed at the setting after this"
    said = []
    square = op.squeezed or abs(op.angle - 90.0) < 0.5
    size, what = op.leg_drawn, "leg" if op.squeezed else "leg at the stop"
    to = "outside" if square else "to the mould line"
    if size is None and not op.squeezed:  # a bend between that is still flat makes it no leg
        end = "outer face" if square else "mould line"
        size, what, to = _reach(op, thickness), f"edge at the stop to the {end}", ""
    if size is not None:
        low, high = (format_length(size + way * op.tolerance, units) for way in (-1, 1))
        said.append(f"{what} {low} to {high} {units} {to}".rstrip())
    if op.squeezed:
        said.append("shut evenly along the fold")
    else:
        low, high = (angle_limit(op.angle, way * op.angle_tolerance) for way in (-1, 1))
        said.append(f"angle {low} to {high}")
    return f"{'; '.join(said)}; at left, middle and right"


def _reach(op: Operation, thickness: float) -> float | None:
    """From the edge at the stop to the bend's mould line once it is released; None: no stop."""
    flat = op.ahead if op.behind is None else op.behind
    return None if flat is None else flat + (op.released_radius + thickness) * math.tan(math.radians(op.angle) / 2.0)


def angle_limit(angle: float, off: float) -> str:
    """A limit of an angle, never wider than it is.

    >>> angle_limit(90.0, 1.0), angle_limit(90.0, -1 / 3)
    ('91°', "89°40'")
    """
    value = angle + off
    if off > 0 or abs(value * 10.0 - round(value * 10.0)) < 1e-6:
        return format_angle_limit(value)
    minutes = math.ceil(value * 60.0 - 1e-6)
    return f"{minutes // 60}°{minutes % 60:02d}'"


def wrong_words(setup: Setup, listed: Sequence[Stroke]) -> str:
    """What to do when the first piece is off, with a direction."""
    op = listed[0][0]
    if setup.stop_side == "squeeze":
        return "Mark or crack on the fold: stop, take softer metal or a wider opening."
    words = []
    if setup.stop_side != "sight" and any(one.gap is None for one, _ in listed):
        toward = "toward the bed" if setup.stop_side == "front" else "toward the nose"
        words.append(f"Too long: stop {toward} by as much; too short: away.")
    if all(one.gap is None for one, _ in listed) and op.angle:
        gain = setup.overbend_to / op.angle
        words.append(f"1° too open: leaf {gain:.2f}° farther; too far: as much less.")
        words.append("One end or the middle open: the check sheet tells what to move.")
    words.append("Never bend back.")
    return " ".join(words)


def stop_cell(op: Operation, units: Units) -> str:
    """What touches the stop, what lies under the nose, and the sight line's place where there is no stop."""
    words = [seat_words(op)]
    if op.gauge_kind == "sight" and op.sight is not None:
        words.append(f"Sight line {_len(op.sight, units)} from the back edge.")
    return " ".join(filter(None, words)) or "no stop"


def warnings(listed: Sequence[Stroke], units: Units) -> list[str]:
    """What to mind, each once with the bends that it is about."""
    found: dict[str, list[str]] = {}
    for stroke in listed:
        for text in _warnings(stroke[0], units):
            found.setdefault(text, []).append(named(stroke))
    return [f"{', '.join(names)}: {text}." for text, names in found.items()]


def along_words(listed: Sequence[Stroke]) -> str:
    """Where along the bar parts and fingers lie: round its middle, which is marked on it, the same for every piece."""
    turned = [op for op, _ in listed if not op.squeezed]
    if not turned:
        return ""
    fingers = ", fingers too" if any(op.fingers for op in turned) else ""
    scrap = ", scrap of this sheet at its ends" if any(op.scrap for op in turned) else ""
    return f"round the bar's middle mark{fingers}{scrap}"


# what holds at every setting, with who says so: trade notes, sections on creep on clamping and on batches
EVERY_SETTING = (
    ("Deburr both faces first, and peel the film off where the nose and the leaf touch.", "common practice, no source"),
    ("Hold the sheet to both stops while the clamp closes: locking shifts it.", "a naval manual, read"),
    ("Close only as far as the sheet can't be pulled out by hand; more bows the beam.", "trade series, read"),
    ("Mark the bar's middle; every piece lies round that mark, the same each time.", "a brake's manual, read"),
    ("Set the leaf by its gauge, without one by the figure; the first piece decides.", "derived"),
    ("Scrap of the same sheet at the bar's ends keeps it level over short parts.", "common practice, no source"),
    (
        "Look at the first piece, every tenth and the last; after each pause.",
        "a home-built brake's note, read; pauses: from memory",
    ),
    ("Never bend back: a bend that went too far is scrap.", "common practice, no source"),
    ("After a new bar or shoe: gauge strip at both ends, then the check sheet.", "derived"),
)


def _warnings(op: Operation, units: Units) -> list[str]:
    said = []
    if op.abreast > 1:
        said.append(
            f"up to {op.abreast} side by side in a clamping, all of one sheet, each against the stop itself, round the"
            " middle of the bar"
        )
    if op.fingers and op.room_for_fingers:
        low, high = (format_length(v, units) for v in op.room_for_fingers)
        widths = " + ".join(format_length(f, units) for f in op.fingers)
        said.append(f"fingers {widths} between the walls ({low} to {high} fits)")
    if op.clearance is not None and op.clearance < NEAR:
        said.append(f"passes the {op.nearest_tool} by only {_len(op.clearance, units)}")
    if op.grain_to_bend is not None and op.grain_to_bend < ALONG and not op.squeezed:
        said.append("bends along the grain: look for cracks with a glass")
    return said


def more(setup: Setup, units: Units) -> Facts:
    """What else is known of the figures, for who asks."""
    rows = [("nose radius", f"{_len(setup.nose_radius, units)}{' over the shoe' if setup.wrap else ''}")]
    if setup.wrap:
        side = "behind" if setup.nose_setback >= 0 else "in front of"
        rows.append(("tip of the shoe", f"{_len(abs(setup.nose_setback), units)} {side} the bed's edge"))
    if setup.stop_side in ("back", "front"):
        rows.append((f"the same stop from {setup.read_from_too}", _len(setup.stop_other, units)))
    if setup.stop_spread > 0.005:
        rows.append(("bends share this stop within", _len(setup.stop_spread, units)))
    return Facts(tuple(rows))


def plan_words(plan: BrakePlan) -> list[str]:
    """How many settings there are, the order of bends of parts that have several, and what cannot be made."""
    here, whole = len(plan.setups), plan.planned.settings
    texts = []
    if here < whole:
        texts.append(f"{here} of the whole job's {whole} settings, numbered as there.")
    if plan.not_made:
        texts.append(f"NOT MADE on this brake, see the findings: {', '.join(plan.not_made)}.")
    return texts


def _len(mm: float, units: Units) -> str:
    return format_length(mm, units, unit=True)
