"""Brake set-up sheets: one setting a page, in type that is read from the brake, and a list of all settings before them.

Each page says what to change, the four figures to set, and for every bend made with them how the blank lies, what comes
out, what the first piece must measure and what to do when it does not; pieces are ticked off by tens. Lengths mm.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from flatgen.core.outline import rectangle
from flatgen.core.words import Units, counted
from flatgen.draw.setup_views import plan_view, section_view
from flatgen.draw.setup_words import (
    CAUTIONS,
    check_words,
    correction_words,
    leaf_words,
    mark_words,
    nose_words,
    setback_words,
    stop_words,
    what_changes,
)
from flatgen.model.blank import Blank
from flatgen.model.handling import handling
from flatgen.model.part import Part
from flatgen.model.plan import BrakePlan, Operation, Setup
from flatgen.page.drawing import Box, Contour, Drawing, Item, Line, Text
from flatgen.page.layers import used
from flatgen.page.lettering import text_width
from flatgen.page.paper import PAPERS, READING
from flatgen.page.place import placed
from flatgen.page.table import wrapped
from flatgen.units import format_angle, format_length

MARGIN = 12.0
HEAD, BIG, TEXT, SMALL = 8.0, 11.0, 3.2, 2.5
BLOCK = 84.0  # height of one bend's block
FIGURES = 52.0
SMALLER = (2.3, 2.1, 1.9)  # where a lot must be said
LEAST_APART = 3.15  # least between two lines of small text
ROW = 12.4
TICK = 4.6
ONE_BY_ONE = 60  # up to here every piece has its box, beyond that every ten


def setup_sheets(
    plan: BrakePlan, parts: Mapping[str, Part], blanks: Mapping[str, Blank], title: str, units: Units
) -> tuple[Drawing, ...]:
    """All pages: the list of settings, then each setting."""
    if not plan.setups:
        return ()
    pages: list[tuple[str, list[Item]]] = []
    width, height = _page(units)
    pages += [("Settings in order", items) for items in _lists(plan, parts, title, units, width, height)]
    for setup in plan.setups:
        strokes = _strokes(setup)
        room = int((height - 2 * MARGIN - HEAD - 6.5 - FIGURES - 9.6 - 8.5) // BLOCK)
        shares = [strokes[k : k + room] for k in range(0, len(strokes), room)]
        for number, share in enumerate(shares, 1):
            of = f", sheet {number} of {len(shares)}" if len(shares) > 1 else ""
            items = _setting_page(plan, setup, share, parts, blanks, title, units, of, (width, height), number == 1)
            pages.append((f"Setting {setup.number}{of}", items))
    total = len(pages)
    drawings = []
    for k, (name, items) in enumerate(pages, 1):
        every = [*items, *_foot(k, total, title, width)]
        drawings.append(
            Drawing(name, (width, height), tuple(every), used(every), units, description=f"Brake set-up: {title}")
        )
    return tuple(drawings)


def _page(units: Units) -> tuple[float, float]:
    paper = PAPERS[READING[units][0]]
    return paper.width, paper.height


def _strokes(setup: Setup) -> list[tuple[Operation, tuple[str, ...]]]:
    """Operations of a setting, bends made at one stroke taken together."""
    found: dict[tuple[str, int], list[Operation]] = {}
    for op in setup.operations:
        found.setdefault((op.part, op.step), []).append(op)
    return [
        (
            replace(ops[0], clamped=", ".join(dict.fromkeys(op.clamped for op in ops))),
            tuple(op.bend for op in ops),
        )
        for ops in found.values()
    ]


def _foot(page: int, total: int, title: str, width: float) -> list[Item]:
    items: list[Item] = [Line("rule", (MARGIN, MARGIN + 8.5), (width - MARGIN, MARGIN + 8.5))]
    y = MARGIN + 5.5
    for line in CAUTIONS:
        items.append(Text("note", (MARGIN, y), line, 2.1))
        y -= 3.4
    items.append(Text("note", (width - MARGIN, MARGIN - 4.8), f"{title}   page {page} of {total}", 2.1, "right"))
    return items


def _setting_page(
    plan: BrakePlan,
    setup: Setup,
    strokes: Sequence[tuple[Operation, tuple[str, ...]]],
    parts: Mapping[str, Part],
    blanks: Mapping[str, Blank],
    title: str,
    units: Units,
    of: str,
    page: tuple[float, float],
    first: bool,
) -> list[Item]:
    width, height = page
    top = height - MARGIN
    head = f"SETTING {setup.number} of {plan.planned.settings}"
    beside = MARGIN + text_width(head, HEAD, True) + 3.0
    items: list[Item] = [
        Text("note", (MARGIN, top - HEAD), head, HEAD, bold=True),
        Text("note", (beside, top - HEAD), of.removeprefix(", "), 3.5),
        Text("note", (width - MARGIN, top - 3.0), f"brake {setup.brake}", 3.5, "right"),
        Text("note", (width - MARGIN, top - 7.8), f"{setup.material}, T {_len(setup.thickness, units)}", 3.5, "right"),
    ]
    y = top - HEAD - 6.5
    items.append(Text("note", (MARGIN, y), what_changes(setup), TEXT * 1.2, bold=True))
    items += _figures(setup, units, width, y - 3.0)
    y -= FIGURES
    if first and setup.coupon_first:
        text = (
            f"COUPON FIRST: {setup.material} {_len(setup.thickness, units)} on this nose is new to the shop's records. "
            "Bend a test strip, measure legs and angle, correct, then bend."
        )
        for line in wrapped(text, width - 2 * MARGIN, TEXT, bold=True):
            items.append(Text("note", (MARGIN, y), line, TEXT, bold=True))
            y -= 4.8
    for op, bends in strokes:
        items += _block(
            plan, op, bends, setup, parts[op.part], blanks[op.part], units, (MARGIN, y - BLOCK + 4.0, width)
        )
        y -= BLOCK
    return items


def _len(mm: float, units: Units) -> str:
    return format_length(mm, units, unit=True)


def _figures(setup: Setup, units: Units, width: float, top: float) -> list[Item]:
    """Nose, set-back and leaf on the left, the stop in big figures on the right."""
    left, right = MARGIN, width - MARGIN
    low, split = top - FIGURES + 8.0, MARGIN + 92.0
    items: list[Item] = [
        Contour("frame", rectangle(left, low, right - left, top - low)),
        Line("rule", (split, low), (split, top)),
    ]
    row = (top - low) / 3.0
    fields = (
        ("NOSE BAR", *nose_words(setup, units)),
        ("NOSE SET-BACK", *setback_words(setup, units)),
        ("LEAF TO", *leaf_words(setup)),
    )
    for k, (label, value, note) in enumerate(fields):
        y = top - (k + 1) * row
        if k < 2:
            items.append(Line("rule", (left, y), (split, y)))
        items.append(Text("note", (left + 2.0, y + row - 3.2), label, 2.1))
        size = min(5.0, 5.0 * (split - left - 4.0) / text_width(value, 5.0, True))
        items.append(Text("note", (left + 2.0, y + 5.2), value, size, bold=True))
        size = min(2.3, 2.3 * (split - left - 4.0) / text_width(note, 2.3))
        items.append(Text("note", (left + 2.0, y + 1.2), note, size))
    label, value, notes = stop_words(setup, units)
    items.append(Text("note", (split + 3.0, top - 5.0), label, 3.2, bold=True))
    size = min(BIG * 1.3, BIG * 1.3 * (right - split - 8.0) / text_width(value, BIG * 1.3, True))
    items.append(Text("note", ((split + right) / 2.0, top - 24.0), value, size, "middle", bold=True))
    for k, note in enumerate(notes):
        items.append(Text("note", (split + 3.0, top - 32.0 - 4.6 * k), note, 3.0, bold=k == 0))
    return items


def _block(
    plan: BrakePlan,
    op: Operation,
    bends: tuple[str, ...],
    setup: Setup,
    part: Part,
    blank: Blank,
    units: Units,
    at: tuple[float, float, float],
) -> list[Item]:
    """One stroke of the leaf on one part."""
    x0, y0, width = at
    right, top = width - MARGIN, y0 + BLOCK - 4.0
    name = part.name
    items: list[Item] = [Line("frame", (x0, top), (right, top))]
    steps = next(len(order) for name_, order in plan.order if name_ == part.id)
    stroke, pieces, how = (
        f"bend {', '.join(bends)}   step {op.step} of {steps}",
        counted(op.pieces, "piece"),
        handling(op),
    )
    room = right - x0 - text_width(pieces, 5.5, True) - 4.0
    high = min(5.5, 5.5 * room / text_width(name, 5.5, True))
    after = text_width(name, high, True) + 4.0
    items.append(Text("note", (x0, top - 6.5), name, high, bold=True))
    if after + text_width(stroke, 3.6) < room:
        items.append(Text("note", (x0 + after, top - 6.5), stroke, 3.6))
    else:
        how = f"{stroke[0].upper()}{stroke[1:]}. {how}"
    items.append(Text("note", (right, top - 6.5), pieces, 5.5, "right", bold=True))
    y = top - 11.5
    for line in wrapped(how, right - x0, TEXT):
        items.append(Text("note", (x0, y), line, TEXT))
        y -= 4.6
    ticks = _ticks(op.pieces, x0, y0, right)
    low = y0 + _tick_height(op.pieces) + 1.0
    columns = (x0, x0 + 82.0, x0 + 136.0)
    if op.picture is not None:
        items += plan_view(op, setup, (columns[0], low, columns[1] - 3.0, y + 1.5), units, blank.grain)
        middle = (low + y + 1.5) / 2.0
        upper = (columns[1], middle + 1.0, columns[2] - 3.0, y - 1.8)
        lower = (columns[1], low, columns[2] - 3.0, middle - 4.3)
        items += section_view(op.picture, op.picture.before, upper, leaf_up=False)
        items += section_view(op.picture, op.picture.after, lower, leaf_up=True)
        items.append(Text("note", (columns[1], y - 1.0), "before", SMALL, bold=True))
        items.append(Text("note", (columns[1], middle - 3.4), "leaf at its stop", SMALL, bold=True))
    checks = check_words(op, units)
    words = [*correction_words(op, setup, units), *mark_words(op, setup, units)]
    return [*items, *ticks, *_beside_pictures(checks, words, (columns[2], y0 - 3.0, right, y - 2.0))]


def _beside_pictures(checks: Sequence[tuple[str, str, str]], words: Sequence[str], box: Box) -> list[Item]:
    """What the first piece must measure and what to do where it does not, smaller where that is a lot."""
    x, low, right, y = box
    for small in (SMALL, *SMALLER):
        noted = [(head, value, wrapped(note, right - x, small)) for head, value, note in checks]
        lines = [line for text in words for line in wrapped(text, right - x, small)]
        many = len(lines) + sum(1 for *_, notes in noted for line in notes if line)
        # the last line stands clear of what comes below, if need be with less between the lines
        least = LEAST_APART * small / SMALL
        apart = (y - 10.8 * len(checks) - low) / max(1, many)
        if apart >= least:
            break
    apart = max(least, min(1.4 * small, apart))
    items: list[Item] = []
    for head, value, notes in noted:
        items.append(Text("note", (x, y), head, SMALL))
        items.append(Text("note", (x, y - 6.0), value, 4.4, bold=True))
        y -= 10.0
        for line in filter(None, notes):
            items.append(Text("note", (x, y), line, small))
            y -= apart
        y -= 0.8
    for line in lines:
        items.append(Text("note", (x, y), line, small))
        y -= apart
    return items


def _tick_height(pieces: int) -> float:
    rows = -(-_boxes(pieces) // 30)
    return rows * (TICK + 1.4) + 1.0


def _boxes(pieces: int) -> int:
    return pieces if pieces <= ONE_BY_ONE else -(-pieces // 10)


def _ticks(pieces: int, x0: float, y0: float, right: float) -> list[Item]:
    """A box for each piece in groups of ten, or a box for each ten where there are many; the first is the first-off."""
    items: list[Item] = []
    count = _boxes(pieces)
    top = y0 + _tick_height(pieces)
    for k in range(count):
        row, column = divmod(k, 30)
        x = x0 + 14.0 + column * TICK + (column // 10) * 4.0
        y = top - (row + 1) * (TICK + 1.4)
        items.append(Contour("rule", rectangle(x, y, TICK - 0.8, TICK - 0.8)))
        if pieces > ONE_BY_ONE:
            items.append(Text("note", (x + (TICK - 0.8) / 2.0, y + 1.0), str(min(pieces, 10 * (k + 1))), 1.5, "middle"))
        elif k == 0:
            items.append(Text("note", (x + (TICK - 0.8) / 2.0, y + 0.9), "1", 2.2, "middle"))
    label = "tens done" if pieces > ONE_BY_ONE else "done"
    items.append(Text("note", (x0, top - TICK - 0.5), label, SMALL))
    return items


def _lists(
    plan: BrakePlan, parts: Mapping[str, Part], title: str, units: Units, width: float, height: float
) -> list[list[Item]]:
    """The settings as a list to work down, the order of bends of each part, and what is not made."""
    planned, plain = plan.planned, plan.plain
    head = shown_words(plan) or (
        f"{counted(planned.settings, 'setting')}, a nose set up {counted(planned.noses, 'time')}, "
        f"{counted(planned.stops, 'stop setting')}. "
        f"Part by part: {plain.settings}, {plain.noses}, {plain.stops}."
    )
    rows = [(ROW, _list_row(setup, units)) for setup in plan.setups]
    room = width - 2 * MARGIN
    words = [line for text in _orders(plan) for line in wrapped(text, room, TEXT)]
    rows += [(5.2, [Text("note", (0.0, 0.0), line, TEXT)]) for line in words]
    pages: list[list[Item]] = []
    y = 0.0
    for pitch, row in rows:
        if not pages or y < MARGIN + 14.0:
            pages.append(
                [
                    Text("note", (MARGIN, height - MARGIN - HEAD), "BRAKE SETTINGS IN ORDER", HEAD, bold=True),
                    Text("note", (MARGIN, height - MARGIN - HEAD - 6.5), head, TEXT, bold=True),
                ]
            )
            y = height - MARGIN - HEAD - 17.0
        pages[-1] += placed(row, 1.0, (MARGIN, y))
        y -= pitch
    return pages


def shown_words(plan: BrakePlan) -> str:
    """How many of the whole job's settings are here, where it is not all of them."""
    here, whole = len(plan.setups), plan.planned.settings
    return f"{here} of the whole job's {counted(whole, 'setting')}, numbered as there." if here < whole else ""


def _orders(plan: BrakePlan) -> list[str]:
    """Order of bends of parts that have several, and parts that cannot be made."""
    lines = [f"Order of bends, {part}: {', then '.join(b)}" for part, b in plan.order if len(b) > 1]
    if plan.not_made:
        lines.append(f"NOT MADE on this brake, see the findings: {', '.join(plan.not_made)}")
    return lines


def _list_row(setup: Setup, units: Units) -> list[Item]:
    """A tick box, the number, the figures in columns, and under them the metal and the bends."""
    value = stop_words(setup, units)[1]
    columns = (
        (7.0, str(setup.number)),
        (17.0, value),
        (45.0, {"sight": "", "squeeze": "squeeze"}.get(setup.stop_side, f"{setup.stop_side} stop")),
        (73.0, f"leaf {format_angle(setup.overbend_to)}"),
        (97.0, f"set-back {setback_words(setup, units)[0]}"),
        (151.0, setup.nose),
    )
    items: list[Item] = [Contour("rule", rectangle(0.0, -0.6, TICK - 0.6, TICK - 0.6))]
    ends = [x for x, _ in columns[1:]] + [192.0]
    for k, ((x, text), end) in enumerate(zip(columns, ends, strict=True)):
        if text:
            size = min(3.4, 3.4 * (end - x - 1.0) / text_width(text, 3.4, k < 2))
            items.append(Text("note", (x, 0.0), text, size, bold=k < 2))
    what = "; ".join(f"{op.part} {', '.join(bends)}" for op, bends in _strokes(setup))
    line = f"{setup.material} {_len(setup.thickness, units)}: {what}"
    size = min(2.8, 2.8 * 170.0 / text_width(line, 2.8))
    items.append(Text("note", (17.0, -5.0), line, size))
    items.append(Line("rule", (0.0, -7.2), (192.0, -7.2)))
    return items
