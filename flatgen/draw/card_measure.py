"""The sizes to measure on a part, with limits and five boxes each. Lengths mm, angles deg."""

import math

from flatgen.model.inspection import Check, Checklist
from flatgen.page.content import Cell, Entry, Table
from flatgen.units import format_angle, format_length

BOXES = 5
ROW = 7.0
SHARES = (6.0, 30.0, 28.0)
BOX = 10.4
PLACES = "left, middle, right"


def measure_table(checks: Checklist, units: str) -> Table:
    """A row a size; the pieces to measure are the heads of the boxes."""
    samples = checks.samples[:BOXES]
    heads = ("", "size", "limits", *("first" if piece == 1 else str(piece) for piece in samples))
    rows: list[tuple[Cell, ...]] = []
    for check in checks.checks:
        what = f"{check.what}: {PLACES}" if check.kind == "angle" else check.what
        boxes = tuple(_box(checks, check, piece) for piece in samples)
        rows.append((str(check.number), what, limits(check, units), *boxes))
    shares = (*SHARES, *(BOX for _ in samples))
    return Table(f"Measure, {checks.part}", heads, tuple(rows), shares=shares, shown=True)


def _box(checks: Checklist, check: Check, piece: int) -> Entry:
    return Entry(f"measured/{checks.part}/{check.number}/{piece}", f"{check.what}, piece {piece}", tall=ROW)


def measure_words(checks: Checklist) -> str:
    """How many are measured and with what."""
    tools = ", ".join(dict.fromkeys(check.instrument for check in checks.checks))
    count = len(checks.samples)
    if count >= checks.quantity:
        which = f"every piece ({count})"
    else:
        bad = f"at most {checks.accept} bad" if checks.accept else "none bad"
        which = f"{count} of {checks.quantity} pieces; {bad}, else every piece"
    return f"Measure {which}: {tools}. Look for cracks with a 10x glass."


def limits(check: Check, units: str) -> str:
    """Both limits; angles that one place would widen are written to two, rounded inward."""
    pair = (check.lower, check.upper)
    if check.kind == "angle" and any(abs(v * 10.0 - round(v * 10.0)) > 1e-6 for v in pair):
        low, high = math.ceil(pair[0] * 100.0 - 1e-6) / 100.0, math.floor(pair[1] * 100.0 + 1e-6) / 100.0
        return f"{low:.2f}° to {high:.2f}°"
    return " to ".join(told(check.kind, value, units) for value in pair)


def told(kind: str, value: float, units: str) -> str:
    """A size as the sheet writes it."""
    return format_angle(value) if kind == "angle" else format_length(value, units)
