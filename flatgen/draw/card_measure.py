"""The sizes to measure on a part, with limits and five boxes each. Lengths mm, angles deg."""

import math
from collections.abc import Sequence

from flatgen.core.words import numbers
from flatgen.model.inspection import Check, Checklist
from flatgen.page.content import Cell, Content, Entry, Table, Words
from flatgen.units import format_angle, format_length

BOXES = 5
ROW = 6.2
BOX_HEADS = ("first", "2nd", "3rd", "4th", "5th")
TITLE = "Measure; angles from flat at left, middle, right"


def measured(listed: Sequence[tuple[str, Checklist]], units: str) -> tuple[Content, ...]:
    """Sizes with their limits and a box for each piece that is measured, of all parts of a card by their names."""
    first = listed[0][1]
    if len(listed) == 1:
        rows = [_row(first, check, units) for check in in_order(first)]
        table = Table(TITLE, ("", "size", "limits", *_piece_heads(first)), tuple(rows), shown=True)
        return table, Words(measure_words([("", first)]), "quiet")
    limited = [[(check.what, limits(check, units)) for check in in_order(checks)] for _, checks in listed]
    if all(one == limited[0] for one in limited) and sum(len(c.samples[:BOXES]) for _, c in listed) <= 2 * BOXES:
        heads = tuple(f"{name[0]} {head}" for name, checks in listed for head in _piece_heads(checks))
        rows = []
        for k, check in enumerate(in_order(first)):
            boxes = tuple(box for _, checks in listed for box in _boxes(checks, in_order(checks)[k]))
            rows.append((*_row(first, check, units)[:3], *boxes))
        table = Table(TITLE, ("", "size", "limits", *heads), tuple(rows), shown=True)
        return table, Words(measure_words(listed), "quiet")
    most = max(len(checks.samples[:BOXES]) for _, checks in listed)
    rows = []
    for name, checks in listed:
        rows += [(name, *_row(checks, check, units, most)) for check in in_order(checks)]
    table = Table(TITLE, ("part", "", "size", "limits", *BOX_HEADS[:most]), tuple(rows), shown=True)
    return table, Words(measure_words(listed), "quiet")


def in_order(checks: Checklist) -> list[Check]:
    """Checks in the order in which they are made: the blank's before those of the bent piece; numbers stay."""
    return sorted(checks.checks, key=lambda check: not check.across)


def _piece_heads(checks: Checklist) -> tuple[str, ...]:
    return tuple("first" if piece == 1 else str(piece) for piece in checks.samples[:BOXES])


def _row(checks: Checklist, check: Check, units: str, most: int = 0) -> tuple[Cell, ...]:
    boxes = _boxes(checks, check)
    what = check.what.removesuffix(", angle from flat") + (" angle" if check.kind == "angle" else "")
    return (str(check.number), what, limits(check, units), *boxes, *("",) * (most - len(boxes)))


def _boxes(checks: Checklist, check: Check) -> tuple[Entry, ...]:
    return tuple(_box(checks, check, piece) for piece in checks.samples[:BOXES])


def _box(checks: Checklist, check: Check, piece: int) -> Entry:
    return Entry(f"measured/{checks.part}/{check.number}/{piece}", f"{check.what}, piece {piece}", tall=ROW)


def measure_words(listed: Sequence[tuple[str, Checklist]]) -> str:
    """How many pieces of each part are measured and with what."""
    tools = ", ".join(dict.fromkeys(check.instrument for _, checks in listed for check in checks.checks))
    said: dict[str, list[str]] = {}
    for name, checks in listed:
        said.setdefault(_which(checks, len(listed) > 1), []).append(name)
    which = ". ".join(f"{', '.join(names)}: {text}" if len(said) > 1 else text for text, names in said.items())
    blank = ""
    if any(check.across for _, checks in listed for check in checks.checks):
        blank = " The blank may be off as much as one leg: stops set the others, the last one takes it (derived)."
    return f"Measure {which}. With {tools}.{blank} Look for cracks with a 10x glass."


def _which(checks: Checklist, numbered: bool) -> str:
    count = len(checks.samples)
    if count >= checks.quantity:
        return f"every piece ({count})"
    bad = f"at most {checks.accept} bad" if checks.accept else "none bad"
    pieces = f" (number {numbers(checks.samples)})" if numbered else ""
    return f"{count} of {checks.quantity} pieces{pieces}; {bad}, else every piece"


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
