"""Subjects filled onto pages of a paper: title, what every page must say, contents, foot with page number and initials.

A subject that begins on a page of its own does; small ones share a page when both are whole on it. Lengths mm.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from flatgen.core.outline import rectangle
from flatgen.core.words import Units
from flatgen.page.blocks import Block, blocks, lines, rule, space, stacked
from flatgen.page.content import Subject
from flatgen.page.drawing import Contour, Drawing, Item, Line, Text
from flatgen.page.layers import used
from flatgen.page.lettering import text_width
from flatgen.page.paper import Paper, page_paper
from flatgen.page.place import placed
from flatgen.page.table import fitting, wrapped

EDGE = 12.0
FOOT = 8.0
TITLE, UNDER, NOTE = 6.0, 2.5, 2.0
SHARING = 5.0  # title of a subject that may share its page


@dataclass(frozen=True, slots=True)
class Setting:
    """What all pages of a document share: paper, which way it lies, the job, the unit of its numbers, a caution.

    printer : the printer's correction along the paper's short and long side: nominal over measured length
    """

    paper: Paper
    job: str
    units: Units
    across: bool = False
    caution: str = ""
    printer: tuple[float, float] = (1.0, 1.0)

    @property
    def sheet(self) -> tuple[float, float]:
        """Width and height of the paper as it lies [mm]."""
        return (self.paper.height, self.paper.width) if self.across else (self.paper.width, self.paper.height)

    @property
    def stretch(self) -> tuple[float, float]:
        """The printer's correction in x and y."""
        return (self.printer[1], self.printer[0]) if self.across else self.printer

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of a page before the printer's correction [mm]."""
        return (self.sheet[0] / self.stretch[0], self.sheet[1] / self.stretch[1])

    @property
    def width(self) -> float:
        """Between the edges [mm]."""
        return self.size[0] - 2.0 * EDGE

    @property
    def tall(self) -> float:
        """Between the top edge and the foot [mm]."""
        return self.size[1] - 2.0 * EDGE - FOOT


@dataclass(frozen=True, slots=True)
class Filled:
    """A page with its contents, before it is known which of how many it is; ``keys`` of the subjects on it."""

    name: str
    setting: Setting
    items: list[Item] = field(default_factory=list)
    keys: list[str] = field(default_factory=list)

    def numbered(self, number: int, of: int) -> Drawing:
        """The page with its foot."""
        every, setting = [*self.items, *_foot(number, of, self.setting)], self.setting
        return Drawing(
            self.name,
            setting.sheet,
            tuple(every),
            used(every),
            setting.units,
            description=setting.job,
            stretch=setting.stretch,
        )


def pages(subjects: Iterable[Subject], setting: Setting) -> tuple[Drawing, ...]:
    """All subjects in order, as a document."""
    filled = fill(subjects, setting)
    return tuple(page.numbered(k, len(filled)) for k, page in enumerate(filled, 1))


def on_paper(name: str, job: str, units: Units, caution: str = "", *, across: bool = False) -> Setting:
    """Pages of the printer's paper of this name; beside a roll, of the usual sheet of the unit."""
    return Setting(page_paper(name, units), job, units, across, caution)


def fill(subjects: Iterable[Subject], setting: Setting, *, loose: bool = False) -> list[Filled]:
    """All subjects on pages without a number; in order, or where they are loose into the first page that takes them."""
    filled: list[Filled] = []
    left: list[float] = []
    for subject in subjects:
        head, body = title(subject, setting.width), blocks(subject.contents, setting.width)
        block = stacked([rule(setting.width), head, *body])
        open_pages = range(0 if loose else max(0, len(filled) - 1), len(filled))
        page = next((k for k in open_pages if block.height <= left[k]), None)
        if page is not None and not subject.whole:
            filled[page].items.extend(_at(block, left[page]))
            left[page] -= block.height
            filled[page].keys.append(subject.key)
            continue
        more = replace(subject, title=f"{subject.title.removesuffix(', continued')}, continued")
        for items, rest in _parted(head, title(more, setting.width), body, setting):
            filled.append(Filled(subject.title, setting, items, [subject.key]))
            left.append(rest)
    return filled


def _at(block: Block, left: float) -> list[Item]:
    """A block below what stands on the page, of which ``left`` is free."""
    return placed(block.items, 1.0, (EDGE, EDGE + FOOT + left - block.height))


def _parted(head: Block, again: Block, body: Sequence[Block], setting: Setting) -> list[tuple[list[Item], float]]:
    """Pages of one subject with the room left on each: blocks that keep together go on together."""
    pages: list[tuple[list[Item], float]] = [(_at(head, setting.tall), setting.tall - head.height)]
    fresh = True
    for k, block in enumerate(body):
        follow, last = block.height, k
        while body[last].keep and last + 1 < len(body):
            last += 1
            follow += body[last].height
        items, left = pages[-1]
        if follow > left and not fresh and not _blank(block):
            begin = [again, *([block.head] if block.head else [])]
            start = stacked(begin)
            items, left = _at(start, setting.tall), setting.tall - start.height
            pages.append((items, left))
            fresh = True
        items += _at(block, left)
        pages[-1] = (items, max(0.0, left - block.height))
        fresh = fresh and _blank(block)
    return pages


def _blank(block: Block) -> bool:
    return not block.items


def title(subject: Subject, width: float) -> Block:
    """The title large at the left, what stands beside it at the right, and the line that every page must have."""
    side = text_width(subject.side, UNDER * 1.4, True) + 4.0 if subject.side else 0.0
    most = TITLE if subject.whole else SHARING
    room = max(width - side, min(0.45 * width, text_width(subject.title, most, True) + 1.0))
    size = max(0.55 * TITLE, min(most, most * room / text_width(subject.title, most, True)))
    name = lines(subject.title, room, size, True)
    right = lines(subject.side, width - room - 2.0, UNDER * 1.4, True) if subject.side else space(0.0)
    tall = max(name.height, right.height)
    items = placed(name.items, 1.0, (0.0, tall - name.height))
    lift = tall - right.height
    items += [replace(i, at=(width, i.at[1] + lift), anchor="right") for i in right.items if isinstance(i, Text)]
    found = [Block(tuple(items), tall)]
    if subject.under:
        found.append(lines(subject.under, width, UNDER))
    found += [Block((Line("frame", (0.0, 1.0), (width, 1.0)),), 2.0), space(1.0)]
    return stacked(found)


def _foot(number: int, of: int, setting: Setting) -> list[Item]:
    """Job, page, date and initials to write, and the caution."""
    left, right = EDGE, setting.size[0] - EDGE
    page = f"page {number} of {of}"
    boxes = (("initials", 14.0), ("date", 20.0))
    items: list[Item] = []
    x = right
    for label, wide in boxes:
        x -= wide
        items.append(Contour("rule", rectangle(x, EDGE, wide, 5.5)))
        x -= text_width(label, NOTE) + 1.2
        items.append(Text("note", (x, EDGE + 1.6), label, NOTE))
        x -= 3.0
    x -= text_width(page, NOTE, True)
    items.append(Text("note", (x, EDGE + 1.6), page, NOTE, bold=True))
    room = x - left - 4.0
    job = (
        setting.job
        if text_width(setting.job, NOTE, True) <= room
        else fitting(setting.job, room - 3.0, NOTE, True) + "..."
    )
    caution = wrapped(setting.caution, room, NOTE) if setting.caution else []
    low, step, top = (0.4, 3.2, FOOT - 1.4) if len(caution) < 2 else (-0.7, 2.75, FOOT - 0.4)
    rows = [*reversed(caution), *[""] * (not caution), job]
    items += [
        Text("note", (left, EDGE + low + k * step), row, NOTE, bold=row == job) for k, row in enumerate(rows) if row
    ]
    items.append(Line("rule", (left, EDGE + top), (right, EDGE + top)))
    return items


def fits(subject: Subject, setting: Setting) -> bool:
    """Whether a subject is whole on one page."""
    body = math.fsum(block.height for block in blocks(subject.contents, setting.width))
    return title(subject, setting.width).height + body <= setting.tall
