"""How a piece is laid in the brake and taken out again: the one place that puts it in words, for every sheet and page.

Angles deg.
"""

from flatgen.model.plan import Operation
from flatgen.said import Text, said

CLOSED = 0.05  # a smaller opening is none [mm]
SQUARE = 0.5  # a turn within this of a quarter is one [deg]


def lay_words(op: Operation) -> str:
    """How the piece is turned against the step before, and which side is up."""
    if op.squeezed:
        return f"CLOSE the fold bent at the setting before: it is {closing_words(op.gap or 0.0)}."
    side = "UPPER SIDE UP" if op.upper_side_up else "LOWER SIDE UP"
    return f"Lay it {side}." if op.step == 1 else f"{_move_words(op)} It lies {side}."


def seat_words(op: Operation) -> str:
    """What touches the stop, and what lies under the nose."""
    if op.squeezed:
        return ""
    words = [f"{op.gauge[0].upper()}{op.gauge[1:]}"] if op.gauge else []
    if op.clamped:
        words.append(f"{op.clamped} under the nose")
    return f"{'; '.join(words)}." if words else ""


def closing_words(gap: float, thick: Text = "as thick as its opening") -> Text:
    """How a hem is closed, for its opening [mm]: the second operation, said alike wherever it is spoken of.

    thick : how thick the strip is, in words
    """
    if gap < CLOSED:
        return "squeezed flat under the clamping beam or between flat bars in a vice"
    return said("squeezed over a strip ", thick, ", under the clamping beam or between flat bars in a vice")


def out_words(op: Operation) -> str:
    """How the piece leaves the brake; nothing where it is drawn to the front."""
    closing = "" if op.gap is None or op.squeezed else " It is closed at the setting after this."
    return f"{_way_words(op)}{closing}".strip()


def _way_words(op: Operation) -> str:
    if op.leaves == "tipped":
        way = "up" if op.tilt > 0 else "down"
        return f"TIP IT OUT: nose lifted all the way, front {way} by about {abs(op.tilt):.0f}° while you draw it out."
    return "Slide it out endways." if op.leaves == "endways" else ""


def handling(op: Operation) -> str:
    """All of it as one text."""
    return " ".join(filter(None, (lay_words(op), seat_words(op), out_words(op))))


def _move_words(op: Operation) -> str:
    turn = op.turn
    if op.flip:
        if abs(turn) > 179.0:
            return "TURN OVER sideways, left end to the right."
        roll = "TURN OVER, the edge toward you goes to the back"
        return f"{roll}." if abs(turn) < 1.0 else f"{roll}, then turn {_turn_words(turn)}."
    if abs(turn) < 1.0:
        return "Lies as before, moved to the new bend."
    if abs(turn) > 179.0:
        return "TURN END FOR END, same side up."
    return f"TURN {_turn_words(turn)}, same side up."


def _turn_words(turn: float) -> str:
    way = "anticlockwise" if turn > 0 else "clockwise"
    size = "a quarter" if abs(abs(turn) - 90.0) < SQUARE else f"{abs(turn):.1f}°"
    return f"{size} {way} (from above)"
