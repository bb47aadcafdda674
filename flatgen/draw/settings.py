"""Brake settings as subjects: what to change, the figures to set, one table of all bends made with them, what to try on
the first piece and what to do when it is wrong. One setting is at most a page; two small ones share it. Lengths mm.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from flatgen.core.words import UNIT_NAMES, Units, counted
from flatgen.draw.setting_words import (
    EVERY_SETTING,
    Stroke,
    along_words,
    change_words,
    figure_row,
    figures,
    first_words,
    more,
    named,
    nose_title,
    plan_words,
    stop_cell,
    strokes,
    warnings,
    wrong_words,
)
from flatgen.draw.setup_views import setting_picture
from flatgen.kept import kept
from flatgen.model.blank import Blank
from flatgen.model.handling import lay_words, out_words
from flatgen.model.part import Part
from flatgen.model.plan import BrakePlan, Operation, Setup
from flatgen.model.shop import USUAL, Minutes
from flatgen.model.spent import hours, to_bend, to_set
from flatgen.page.blocks import blocks, stacked
from flatgen.page.content import Beside, Box, Cell, Content, Count, Entry, Fold, Picture, Subject, Table, Words
from flatgen.page.drawing import Drawing
from flatgen.page.flow import Setting, fits, pages
from flatgen.tally.first import provisional
from flatgen.units import format_angle, format_length

HEADS = ("part", "bend", "against the stop", "lay it", "pieces", "done")
FIXED = 27.0, 16.5, 14.0  # widths of part, bend and pieces [mm]
BOX, LEAST_BOXES, BOXES = 4.8, 2, (8, 11, 16)  # width of one to tick, how many beside each other
SAME = "the same"
PAGE = 186.0  # width that the table is laid out for, that of the narrowest paper [mm]
IN_A_ROW = 2  # pictures beside each other


@dataclass(frozen=True, slots=True)
class Form:
    """How closely a setting is printed.

    across : parts beside each other in a table under their common words; 0: a row a part, with its own words
    pictures : at most so many
    """

    across: int = 0
    pictures: int = 99


FORMS = (Form(), Form(1), Form(2, 2), Form(3, 2), Form(4, 0))  # the first that fits on a page is taken


@dataclass(frozen=True, slots=True)
class Shown:
    """What settings are shown with: how many there are, and of each part its bends' number, itself and its blank.

    waits : of each part the test bends that it waits for; None where the job asks for none
    """

    settings: int
    steps: Mapping[str, int]
    parts: Mapping[str, Part]
    blanks: Mapping[str, Blank]
    units: Units
    minutes: Minutes = USUAL
    waits: Mapping[str, tuple[str, ...]] | None = None

    def of(self, setup: Setup) -> "Shown":
        """What one setting needs of it."""
        own = sorted({op.part for op in setup.operations})
        return replace(
            self,
            steps={part: self.steps[part] for part in own},
            parts={part: self.parts[part] for part in own},
            blanks={part: self.blanks[part] for part in own},
            waits=None if self.waits is None else {part: self.waits.get(part, ()) for part in own},
        )


def setting_subjects(
    plan: BrakePlan,
    parts: Mapping[str, Part],
    blanks: Mapping[str, Blank],
    units: Units,
    on: Setting | None = None,
    minutes: Minutes = USUAL,
    waits: Mapping[str, tuple[str, ...]] | None = None,
) -> tuple[Subject, ...]:
    """Every setting in order; ``on`` : the paper, on which each is as close as it must be to stay on one page."""
    steps = {part: len(order) for part, order in plan.order}
    shown = Shown(plan.planned.settings, steps, parts, blanks, units, minutes, waits)
    return tuple(kept(_fitting, shown.of(setup), setup, on) for setup in plan.setups)


def setting_pages(
    plan: BrakePlan,
    parts: Mapping[str, Part],
    blanks: Mapping[str, Blank],
    units: Units,
    on: Setting,
    minutes: Minutes = USUAL,
    checks: Sequence[str] = (),
    waits: Mapping[str, tuple[str, ...]] | None = None,
) -> tuple[Drawing, ...]:
    """The list of all settings, then each on its own; ``checks`` : of the brake, that are asked for before."""
    each = setting_subjects(plan, parts, blanks, units, on, minutes, waits)
    return pages((settings_list(plan, units, minutes, checks), every_setting(), *each), on)


def settings_list(plan: BrakePlan, units: Units, minutes: Minutes = USUAL, checks: Sequence[str] = ()) -> Subject:
    """All settings in order as a list to work down, what cannot be made, and bars to check the brake with first."""
    rows: list[tuple[Cell, ...]] = []
    for setup in plan.setups:
        bends = "; ".join(named(stroke) for stroke in strokes(setup))
        stop, *others = figures(setup, units)
        side = "squeeze" if setup.stop_side == "squeeze" else setup.stop_side if stop.unit else "no stop:"
        key, what = setting_key(setup), f"setting {setup.number} done"
        leaf = format_angle(setup.overbend_to) if others else ""
        setback = format_length(abs(setup.bare_setback), units) if others else ""
        setback += " IN FRONT" if others and setup.bare_setback < 0 else ""
        rows.append(
            (
                Box(key, what, str(setup.number)),
                f"{side} {stop.value}",
                leaf,
                setback,
                nose_title(setup),
                bends,
                f"{to_set(setup, minutes) + to_bend(setup, minutes):.0f}",
            )
        )
    heads = ("setting", "stop", "leaf", "set-back", "nose", "bends", "min")
    table = Table("Settings in order", heads, tuple(rows), (6,), (16.0, 24.0, 14.0, 17.0, 45.0, 66.0, 10.0))
    words = [Words(text, "strong") for text in (*plan_words(plan), *(f"{text}." for text in checks))]
    setting, bending = (math.fsum(of(setup, minutes) for setup in plan.setups) for of in (to_set, to_bend))
    time = f"About {hours(setting + bending)}: {hours(setting)} to set, {hours(bending)} to bend."
    contents: tuple[Content, ...] = (*words, Words(time), table)
    return Subject("settings", "SETTINGS IN ORDER", contents, side=f"sizes in {UNIT_NAMES[units]}", whole=False)


def every_setting() -> Subject:
    """What holds at every setting."""
    table = Table("At every setting", ("do", "who says so"), EVERY_SETTING, shares=(140.0, 52.0))
    return Subject("every-setting", "AT EVERY SETTING", (table,), whole=False)


def setting_key(setup: Setup) -> str:
    """A name of the setting that stays its own while other settings come and go: its first bend."""
    return f"set/{named(strokes(setup)[0]).replace(' ', '/')}{'/squeeze' if setup.stop_side == 'squeeze' else ''}"


def _fitting(shown: Shown, setup: Setup, on: Setting | None) -> Subject:
    subject = _setting(shown, setup, FORMS[0])
    for form in FORMS[1:]:
        if on is None or fits(subject, on):
            break
        subject = _setting(shown, setup, form)
    return subject


def _setting(shown: Shown, setup: Setup, form: Form) -> Subject:
    listed, units = strokes(setup), shown.units
    marks = dict.fromkeys(mark for part in shown.parts for mark in (shown.waits or {}).get(part, ()))
    change = Words(change_words(setup), "strong")
    contents: list[Content] = [Beside(((4.0, (change,)), (1.0, (_right(setup),))))]
    if setup.coupon_first and (marks or shown.waits is None):
        contents.append(Words("TEST STRIP FIRST: this metal is new on this nose. Bend, measure, enter, print anew."))
    contents += [
        figure_row(setup, units),
        first_words(setup, listed, units),
        *(_grouped(shown, listed, form.across) if form.across else [_table(shown, listed)]),
    ]
    contents += _pictured(_pictures(shown, setup, listed)[: form.pictures], _advice(setup, listed, units))
    contents.append(Fold("More about these figures", (more(setup, units),)))
    metal = f"{shown.parts[listed[0][0].part].material.name}, T {format_length(setup.thickness, units, unit=True)}"
    pieces = setup.pieces or sum(op.pieces for op, _ in listed)
    where = along_words(listed)
    return Subject(
        f"setting-{setup.number}",
        f"SETTING {setup.number} of {shown.settings}",
        tuple(contents),
        side="  ".join(filter(None, (provisional(marks), nose_title(setup)))),
        under="; ".join(
            filter(None, (metal, setup.brake, f"{counted(pieces, 'bend')}, {_time(setup, shown.minutes)}", where))
        ),
        whole=False,
    )


def _time(setup: Setup, minutes: Minutes) -> str:
    return f"about {to_set(setup, minutes):.0f} + {to_bend(setup, minutes):.0f} min"


def _advice(setup: Setup, listed: Sequence[Stroke], units: Units) -> tuple[Content, ...]:
    """What to mind, and what to do when the first piece is wrong."""
    mind = warnings(listed, units)
    return (
        *((Words(f"Mind: {' '.join(mind)}", "strong"),) if mind else ()),
        Words(f"Wrong? {wrong_words(setup, listed)}"),
    )


def _right(setup: Setup) -> Box:
    """The box for a first piece that is right."""
    which = setting_key(setup).removeprefix("set/")
    return Box(f"first/{which}", f"first piece of setting {setup.number} measured and right", "first piece right")


def _pictured(pictures: Sequence[Picture], advice: tuple[Content, ...]) -> list[Content]:
    """Pictures two in a row, the advice beside an odd one or below."""
    cells: list[tuple[Content, ...]] = [(picture,) for picture in pictures]
    if len(cells) % IN_A_ROW:
        cells.append(advice)
        advice = ()
    rows = [cells[k : k + IN_A_ROW] for k in range(0, len(cells), IN_A_ROW)]
    return [*(Beside(tuple((1.0, cell) for cell in row)) for row in rows), *advice]


def _count(op: Operation, bends: tuple[str, ...]) -> Count:
    key = f"bent/{op.part}/{'+'.join(bends)}{'/squeeze' if op.squeezed else ''}"
    what = f"pieces of {op.part} {'closed' if op.squeezed else 'bent'} at {', '.join(bends)}"
    return Count(key, what, op.done + op.pieces, op.done)


def _bend_cell(shown: Shown, op: Operation, bends: tuple[str, ...]) -> str:
    steps = shown.steps[op.part]
    return f"{', '.join(bends)}{f', step {op.step} of {steps}' if steps > 1 else ''}"


def _lay(op: Operation) -> str:
    return " ".join(filter(None, (lay_words(op), out_words(op))))


def _table(shown: Shown, listed: Sequence[Stroke]) -> Table:
    """A row a part, with its own words where they are not those of the row above."""
    rows: list[tuple[Cell, ...]] = []
    above = ("", "")
    for op, bends in listed:
        words = (stop_cell(op, shown.units), _lay(op))
        said = (SAME if own == other else own for own, other in zip(words, above, strict=True))
        cells = (shown.parts[op.part].name, _bend_cell(shown, op, bends), *said)
        rows.append((*cells, str(op.pieces), _count(op, bends)))
        above = words
    most = max(LEAST_BOXES, *(op.pieces for op, _ in listed), 0)
    choices = [_shared_out(rows, min(boxes, most) * BOX + 3.4) for boxes in BOXES]
    return min(choices, key=lambda table: stacked(blocks([table], PAGE)).height)


def _shared_out(rows: Sequence[tuple[Cell, ...]], done: float) -> Table:
    """The table with so much room for boxes [mm]."""
    part, bend, pieces = FIXED
    words = PAGE - part - bend - pieces - done
    shares = (part, bend, 0.45 * words, 0.55 * words, pieces, done)
    return Table("Bends at this setting", HEADS, tuple(rows), numbers=(4,), shares=shares)


def _grouped(shown: Shown, listed: Sequence[Stroke], across: int) -> Iterator[Content]:
    """Words once, then the parts that they hold for, several beside each other."""
    groups: dict[str, list[Stroke]] = {}
    for op, bends in listed:
        groups.setdefault(f"{stop_cell(op, shown.units)} {_lay(op)}", []).append((op, bends))
    for words, same in groups.items():
        yield Words(words, "strong")
        rows = [_several(shown, same[k : k + across], across) for k in range(0, len(same), across)]
        heads = ("part", "bend", "pieces", "done") * across
        numbers = tuple(range(2, 4 * across, 4))
        yield Table("Bends laid in this way", heads, tuple(rows), numbers, shares=(27.0, 15.0, 13.0, 30.0) * across)


def _several(shown: Shown, some: Sequence[Stroke], across: int) -> tuple[Cell, ...]:
    cells: list[Cell] = []
    for op, bends in some:
        count = _count(op, bends)
        done: Cell = count if across < 3 else Entry(count.key, count.what)
        cells += [op.part, _bend_cell(shown, op, bends), str(op.pieces), done]
    return (*cells, *[""] * (4 * across - len(cells)))


def _pictures(shown: Shown, setup: Setup, listed: Sequence[Stroke]) -> list[Picture]:
    """Each way to lie once."""
    alike: dict[tuple[object, ...], list[Stroke]] = {}
    for stroke in listed:
        op = stroke[0]
        if op.picture is not None:
            shape = tuple(len(outline) for outline in op.picture.before)
            alike.setdefault((lay_words(op), op.gauge_kind, shape), []).append(stroke)
    found = []
    for same in alike.values():
        op = same[0][0]
        drawing = setting_picture(op, setup, shown.units, shown.blanks[op.part].grain)
        alt = f"{named(same[0])} in the brake: from above, from the side before the bend, and with the leaf up"
        caption = ", ".join(map(named, same)) if len(alike) > 1 else ""
        found.append(Picture(drawing, alt, tall=drawing.size[1], caption=caption))
    return found
