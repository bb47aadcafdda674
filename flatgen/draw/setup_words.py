"""What a brake set-up sheet says in words. Numbers are in the job's units, angles in degrees."""

import math

from flatgen.model.plan import Operation, Setup
from flatgen.units import format_angle, format_angle_limit, format_length

CAUTIONS = (
    "Hands clear of leaf, clamp and counterweight. Eye protection. Edges are sharp. The first piece is a test piece: "
    "measure, correct, then run.",
    "A bend is never taken out again: hard sheet that was flattened and bent again is scrap. If the plans and this "
    "sheet differ, the plans win.",
)
CORRECTION = {"in": 0.010 * 25.4, "mm": 0.4}  # the example that the correction is explained with


def what_changes(setup: Setup) -> str:
    """What to set anew against the setting before."""
    if setup.stop_side == "squeeze":
        return "SQUEEZE: nothing to set on the brake"
    nose = "nose bar (fingers)" if setup.operations[0].fingers else "nose bar"
    names = {"nose": nose, "set-back": "set-back", "leaf": "leaf stop", "stop": "stop"}
    if not setup.changes:
        return "NOTHING TO SET: the brake stands as it should"
    if len(setup.changes) == len(names):
        return f"SET ANEW: {nose}, set-back, leaf stop, stop"
    kept = [names[n] for n in names if n not in setup.changes]
    return f"CHANGE: {', '.join(names[n] for n in setup.changes)}   (leave {', '.join(kept)} as set)"


def nose_words(setup: Setup, units: str) -> tuple[str, str]:
    """Full name of the nose; its radius, and the fingers' widths together."""
    if setup.stop_side == "squeeze":
        return "as it is", "the fold under the clamping beam, or between flat bars in a vice"
    fingers = setup.operations[0].fingers
    note = f"radius {format_length(setup.nose_radius, units, unit=True)}"
    if setup.wrap:
        note += " over the shoe"
    if fingers:
        note += f"; fingers {format_length(math.fsum(fingers), units, unit=True)} in all, see below"
    return setup.nose, note


def setback_words(setup: Setup, units: str) -> tuple[str, str]:
    """How far the nose tip stands behind the bed's edge, or in front of it."""
    if setup.stop_side == "squeeze":
        return "as it is", "the nose bar stays as it stands"
    value = format_length(abs(setup.bare_setback), units, unit=True)
    where = "behind the bed's edge" if setup.bare_setback >= 0 else "IN FRONT of the bed's edge"
    note = f"tip {where}, both ends alike"
    if setup.squeeze > 0.03:
        note += f"; 1 T squeezes it {format_length(setup.squeeze, units, unit=True)}"
    if setup.wrap:
        over = format_length(abs(setup.nose_setback), units, unit=True)
        side = "behind" if setup.nose_setback >= 0 else "in front"
        note = f"bare tip {where}; with the wrap {over} {side}"
    return f"{value}{'' if setup.bare_setback >= 0 else ', IN FRONT'}", note


def leaf_words(setup: Setup) -> tuple[str, str]:
    """Leaf stop, with the angle that it makes."""
    if setup.stop_side == "squeeze":
        return "as it is", "the leaf does not move"
    angles = sorted({format_angle(op.angle) for op in setup.operations})
    return format_angle(
        setup.overbend_to
    ), f"over-bent, springs back to {', '.join(angles)}; between legs " + ", ".join(
        sorted({format_angle(180.0 - op.angle) for op in setup.operations})
    )


def stop_words(setup: Setup, units: str) -> tuple[str, str, tuple[str, ...]]:
    """The stop in figures: what it is measured from, the distance, and the same measured elsewhere."""
    if setup.stop_side == "squeeze":
        over = f"over {format_length(setup.stop, units, unit=True)}" if setup.stop > 0.0 else "flat"
        return "SQUEEZE THE FOLD", over, ("a strip so thick in it" if setup.stop > 0.0 else "until it is shut",)
    if setup.stop_side == "sight":
        return "NO STOP", "by mark", ("sight line flush under the nose tip,", "looking straight down; see each bend")
    value = format_length(setup.stop_shown, units, unit=True)
    other = format_length(setup.stop_other, units, unit=True)
    lines = [f"from {setup.read_from_too}: {other}"]
    if setup.stop_side == "front":
        lines += ["on the leaf, free edge against it", "Clamp, then TAKE THE STOP AWAY, then bend."]
    if setup.stop_side == "back":
        lines.append(pad_words(setup, units))
    if setup.stop_spread > 0.005:
        lines.append(f"shared by bends within {format_length(setup.stop_spread, units, unit=True)}")
    label = f"{setup.stop_side.upper()} STOP from {setup.read_from}"
    return label, value, tuple(lines)


def pad_words(setup: Setup, units: str) -> str:
    """How high the back stop's face is: a higher one could meet metal that hangs over behind."""
    if not setup.stop_pad:
        return "a strip no thicker than the sheet"
    return f"pad on the flange, {format_length(setup.stop_pad, units, unit=True)} high at most"


def check_words(op: Operation, units: str) -> list[tuple[str, str, str]]:
    """What the first piece must measure: head, figure, from where to where."""
    rows = []
    tolerance = format_length(op.tolerance, units)
    half_made = op.gap is not None and not op.squeezed  # a hem's leg can be measured once it is closed
    size, contact = None if half_made else op.leg_drawn, op.gauge.split(" against")[0].removesuffix(", standing,")
    where = f"from {contact}, to the outside of this bend"
    if size is not None:
        if abs(op.angle - 90.0) > 0.5:
            where += " (mould line)"
        rows.append(("FIRST PIECE, leg", f"{format_length(size, units)} ±{tolerance}", where))
    if half_made:
        return [("ANGLE, about", format_angle(op.angle), "it is squeezed shut after this")]
    rows.append(("ANGLE, both ends", f"{format_angle(op.angle)} ±{format_angle_limit(op.angle_tolerance)}", ""))
    return rows


def correction_words(op: Operation, setup: Setup, units: str) -> list[str]:
    """What to do when the first piece is off."""
    if op.squeezed:
        return ["Mark or crack on the fold: stop, take softer metal or a wider opening."]
    words = []
    step = format_length(CORRECTION[units], units, unit=True)
    if op.gauge_kind != "sight":
        toward = "toward the bed" if setup.stop_side == "front" else "toward the nose"
        words.append(f"Leg long by {step}: stop {step} {toward}; short: away.")
    if op.gap is not None:
        return words  # a hem's leaf is at its end already
    gain = setup.overbend_to / op.angle if op.angle else 1.0
    words.append(f"Open by 1°: leaf stop {gain:.2f}° farther.")
    return words


def mark_words(op: Operation, setup: Setup, units: str) -> list[str]:
    """The same bend worked by mark, and what else to mind."""
    if op.squeezed:
        return []
    words = []
    if op.sight is not None:
        start = "the outer face" if op.gauge_kind == "face" else "the back edge"
        if setup.stop_side == "front":
            start = "the free edge"
        words.append(f"By mark: sight line {format_length(op.sight, units, unit=True)} from {start}.")
    else:
        words.append("By mark: the sight line drawn on the blank for this side clamped.")
    if op.fingers and op.room_for_fingers:
        low, high = (format_length(v, units) for v in op.room_for_fingers)
        widths = " + ".join(format_length(f, units) for f in op.fingers)
        total = format_length(math.fsum(op.fingers), units)
        words.append(f"FINGERS {widths} = {total} between the walls ({low} to {high} fits).")
    if op.clearance is not None and op.clearance < 1.6:
        words.append(f"Passes {op.nearest_tool} by only {format_length(op.clearance, units, unit=True)}: watch it.")
    if op.grain_to_bend is not None and op.grain_to_bend < 30.0:
        words.append("Bend runs along the grain: look for cracks with a glass.")
    return words
