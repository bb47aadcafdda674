"""Cards: one side of paper a part, with all that the bench needs to make and measure it. Lengths mm.

A blank that fits is drawn at true size, with bars to check the printer by; a larger one to a scale that the card
states, and its full-size templates follow behind the card.
"""

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import chain, product

from flatgen.core.words import UNIT_NAMES, Units
from flatgen.develop.formed_length import FORMED
from flatgen.draw.card_family import families, holes_table, lettered, sizes_table
from flatgen.draw.card_groups import CardPart, by_sizes, hands_of, names_of, shared, turned_words
from flatgen.draw.card_layout import Piece, begun, gone_on, on_one_page, pieces_of
from flatgen.draw.card_measure import measured
from flatgen.draw.card_steps import (
    BEHIND,
    bending_steps,
    cut_list,
    cutting_steps,
    kind_of,
    last_steps,
    on_page,
    sawing_steps,
    sawn_after,
    steps_of,
    together,
)
from flatgen.draw.card_tables import corner_tables, hole_tables, line_tables
from flatgen.draw.card_view import card_view
from flatgen.draw.formed import formed_view
from flatgen.draw.section import best_scale, section_view, section_words, sections
from flatgen.draw.template import Template, template
from flatgen.draw.tiles import Layout, check_bar, laid_out, numbered
from flatgen.draw.words import thickness_words
from flatgen.kept import kept
from flatgen.model.part import HANDED
from flatgen.model.shop import USUAL, Drill, Minutes
from flatgen.model.spent import to_finish
from flatgen.page.content import Beside, Content, Picture, Steps, Subject, Table, Words
from flatgen.page.drawing import Drawing
from flatgen.page.flow import Filled, Setting, fill, title
from flatgen.page.layers import used
from flatgen.page.paper import Paper, scale_text
from flatgen.page.place import framed, side_by_side
from flatgen.tally.first import PROVISIONAL, provisional
from flatgen.tally.words import far_words

SCALES = (1.0, 0.5, 0.25, 0.2, 0.1, 0.05, 0.02, 0.01)
LEAST_VIEW = 85.0  # a longer blank is not drawn smaller to save a page
LEAST_LETTERED = 40.0  # nor one of which only letters are read
MOST_BESIDE = 74.0  # width of a section that has the formed view beside it
MEASURED = frozenset({"measure"})
CAUTION = "Edges are sharp: gloves. Eye protection. Where this and the drawing differ, the drawing decides."


@dataclass(frozen=True, slots=True)
class Bench:
    """What all cards of a job share."""

    job: str
    units: Units
    paper: Paper
    drills: tuple[Drill, ...]
    printer: tuple[float, float] = (1.0, 1.0)
    minutes: Minutes = USUAL

    def setting(self, across: bool) -> Setting:
        """Pages of the shop's paper, upright or across."""
        return Setting(self.paper, self.job, self.units, across, CAUTION, self.printer)


@dataclass(frozen=True, slots=True)
class Card:
    """A card laid out: what its page holds, the way it lies, the scale of its blank, the parts it is for.

    back : what found no room on the page, most often the sizes to measure; cards share the pages of these
    """

    front: Subject
    across: bool
    scale: float
    parts: tuple[CardPart, ...]
    back: tuple[Content, ...] = ()

    @property
    def subject(self) -> Subject:
        """All of it, as the packet's page shows it."""
        return replace(self.front, contents=_told(self.front.contents + self.back, ""))

    def first(self, page: int) -> Subject:
        """What stands on its own page, with the page of what follows."""
        return replace(self.front, contents=_told(self.front.contents, f" (page {page})"))

    def behind(self, page: int) -> Subject:
        """What follows on a page that cards share."""
        name, under, contents = self.front.title, self.front.under, _told(self.back, f" (page {page})")
        if under.startswith(PROVISIONAL):  # sizes to measure are those of the drawing
            under = under.partition("; ")[2]
        return replace(self.front, title=f"{name}, continued", under=under, contents=contents, whole=False)


def _told(contents: tuple[Content, ...], page: str) -> tuple[Content, ...]:
    """Contents whose steps name the page of the tables behind."""
    found: list[Content] = []
    for content in contents:
        if isinstance(content, Steps):
            steps = tuple(replace(step, text=step.text.replace(BEHIND, page)) for step in content.steps)
            content = replace(content, steps=steps)
        elif isinstance(content, Beside):
            content = Beside(tuple((share, _told(inner, page)) for share, inner in content.columns))
        found.append(content)
    return tuple(found)


def cards(made: Sequence[CardPart], bench: Bench) -> tuple[Card, ...]:
    """A card a part; left and right share one where their blank is the same, so do the parts of a table of sizes."""
    groups = shared(made, families(made, bench.units))
    return tuple(kept(_card, group, bench, f"card {k} of {len(groups)}") for k, group in enumerate(groups, 1))


def _card(group: tuple[CardPart, ...], bench: Bench, number: str) -> Card:
    """True size where it fits, with all on one page or the sizes to measure behind; else the largest scale that does.

    A card that needs more room begins with the view and the steps, and goes on behind.
    """
    head = _head(group, bench, number)
    made = cache(lambda behind: _pieces(group, bench, behind))
    view_at = cache(lambda scale: _view(group, bench.units, scale))
    sides = [(across, bench.setting(across)) for across in (True, False)]
    rooms = [(across, on.width, on.tall - title(head, on.width).height) for across, on in sides]
    scales = SCALES[by_sizes(group) :]
    least = min(LEAST_LETTERED if by_sizes(group) else LEAST_VIEW, group[0].blank.width, group[0].blank.height)
    back = bench.setting(False)
    for scale, behind in product(scales, (frozenset(), MEASURED)):
        to_make, measure = made(behind)
        for across, width, height in rooms:
            laid = on_one_page(view_at(scale), to_make if behind else [*to_make, *measure], width, height)
            if laid and max(group[0].blank.width, group[0].blank.height) * scale >= least - 0.01:
                rest = tuple(chain(*gone_on(measure if behind else [], back.width, 0.8 * back.tall)))
                return Card(replace(head, contents=laid), across, scale, group, rest)
    for scale in scales:
        for across, width, height in rooms:
            found = _begun(view_at(scale), made, width, height)
            if found:
                rest = tuple(chain(*gone_on(found[1], back.width, 0.8 * back.tall)))
                return Card(replace(head, contents=found[0]), across, scale, group, rest)
    raise AssertionError("a view at the least scale fits on any page")


def _pieces(group: tuple[CardPart, ...], bench: Bench, behind: frozenset[str]) -> tuple[list[Piece], list[Piece]]:
    """What makes the part, in pieces, and the sizes to measure."""
    contents = _contents(group, bench, behind)
    pieces = pieces_of(contents)
    measure = [piece for piece, content in zip(pieces, contents, strict=True) if isinstance(content, tuple)]
    return [piece for piece in pieces if piece not in measure], measure


def _begun(
    view: Picture, made: Callable[[frozenset[str]], tuple[list[Piece], list[Piece]]], width: float, height: float
) -> tuple[tuple[Content, ...], list[Piece]] | None:
    """A first page and all that goes on behind it; its steps name what they need from there."""
    behind = MEASURED
    while True:
        to_make, measure = made(behind)
        found = begun(view, to_make, width, height)
        if found is None:
            return None
        rest = [*found[1], *measure]
        tables = frozenset(kind_of(c.title) for piece in rest for c in piece.contents if isinstance(c, Table))
        if tables <= behind:
            return found[0], rest
        behind |= tables


def _head(group: tuple[CardPart, ...], bench: Bench, number: str) -> Subject:
    part = min((one.part for one in group), key=lambda part: part.id)
    side = far_words([one.counts for one in group])
    hand = "" if part.hand != "none" else "no hand"
    drawing = " ".join(filter(None, (part.drawing, f"rev {part.revision}" if part.revision else "")))
    metal = f"{part.material.name}, T {thickness_words(part, bench.units)}"
    times = [to_finish(one.blank, bench.minutes) for one in group]
    time = " to ".join(dict.fromkeys(f"{each:.0f}" for each in (min(times), max(times))))
    time = f"about {time} min each to mark, drill, deburr"
    waits = provisional(dict.fromkeys(mark for one in group for mark in one.waits))
    under = "; ".join(filter(None, (waits, metal, drawing, hand, f"sizes in {UNIT_NAMES[bench.units]}", time, number)))
    name = " ".join(filter(None, (names_of(group), part.title)))
    return Subject(f"card-{part.id}", name, (), side=side, under=under)


def _view(group: tuple[CardPart, ...], units: Units, scale: float) -> Picture:
    one = group[0]
    drawing = card_view(one.blank, one.faces, units, scale, lettered(group, units) if by_sizes(group) else None)
    size = "true size" if scale == 1.0 else f"scale {scale_text(scale)}"
    arrow = " Arrows point to the side under the nose." if one.blank.bends else ""
    which = f"{one.part.name}, u" if len(group) > 1 else "U"
    caption = f"{which}pper side toward you, {size}.{arrow}"
    return Picture(drawing, f"Blank of {one.part.id}, upper side", true=True, caption=caption)


def _contents(
    group: tuple[CardPart, ...], bench: Bench, behind: Collection[str]
) -> list[Content | tuple[Content, ...]]:
    """All but the picture of the blank, in the order in which it finds its place; ``behind``: tables elsewhere."""
    one, units, family = group[0], bench.units, by_sizes(group)
    blanks = [each.blank for each in group] if family else [one.blank]
    ordered = sorted(group, key=lambda each: each.part.id)
    named = [(each.part.name if family else HANDED[each.part.hand].strip(), each) for each in ordered]
    source = replace(one.source, sheets=tuple(sorted({k for each in group for k in each.source.sheets})))
    if one.part.cut_from:
        texts = [*sawing_steps([each.part for each in group], blanks, units), f"Measure{on_page('measure', behind)}."]
    else:
        texts = cutting_steps(blanks, source, units, hands_of(group), behind)
        if any(check.across for each in group if each.checks for check in each.checks.checks):
            texts[-1] += f" Measure the blank{on_page('measure', behind)}."
        texts += together([(name, bending_steps(e.part.id, e.blank, e.setups, units)) for name, e in named])
        texts += sawn_after(one.part)
        texts += [*last_steps(blanks, units), f"Measure{on_page('measure', behind)}."]
    found: list[Content | tuple[Content, ...]] = []
    if hands_of(group):
        found.append(Words(turned_words(*group), "strong"))
    found.append(Steps(steps_of(texts, ordered[0].part.id)))
    if one.part.cut_list and one.part.profile == FORMED:
        found.append(cut_list(one.part, one.counts.saw, units))
    if family:
        found += [sizes_table(ordered, units), *holes_table(ordered, bench.drills, units)]
    else:
        found += [*hole_tables(one.blank, bench.drills, units), *line_tables(one.blank, one.faces, units)]
    found += _pictures(one, units, named=len(group) > 1)
    checked = [(name, each.checks) for name, each in named if each.checks is not None]
    if checked:
        found.append(measured(checked, units))
    found += corner_tables(one.blank, units)
    found += [Words(note) for note in one.part.notes]
    return found


def _pictures(one: CardPart, units: Units, *, named: bool) -> list[Picture]:
    """Sections and the formed view, of which part where there are several; they are drawn for their place."""
    blank = one.blank
    if not blank.bends:
        return []
    which = f"{one.part.name}: " if named else ""
    found = []
    for section in sections(blank):
        scale = best_scale(section, 46.0, 34.0)
        drawn = framed(section_view(section, scale, units), units)
        alt = f"Section {section_words(section, units)}"
        found.append(Picture(drawn, alt, true=True, caption=f"{which}{alt}, scale {scale_text(scale)}."))
    formed = Picture(framed(formed_view(blank, 36.0), units), "Formed part", true=True, caption=f"{which}Formed.")
    if len(found) > 1 or found[0].drawing.size[0] > MOST_BESIDE:
        return [*found, formed]
    both = side_by_side((found[0].drawing, formed.drawing), 5.0)
    return [
        replace(found[0], drawing=both, alt=f"{found[0].alt}; the formed part", caption=f"{found[0].caption} Formed.")
    ]


Page = Callable[[int, int], Drawing]


def card_pages(made: Iterable[Card], bench: Bench) -> tuple[Drawing, ...]:
    """All cards as one document, the templates of a blank that is not drawn true size behind its card."""
    made = tuple(made)
    layout = Layout(bench.paper, stretch=bench.printer, title=bench.job)
    backs = [card for card in made if card.back]
    tiles = [() if card.scale == 1.0 else _tiles(card, bench, layout) for card in made]
    fronts = [len(kept(fill, (card.front,), bench.setting(card.across))) for card in made]
    before, numbers = sum(fronts) + sum(map(len, tiles)), dict.fromkeys((card.front.key for card in backs), 0)
    for _ in range(2):  # the second time with the right numbers, which take less room
        back = fill([card.behind(numbers[card.front.key]) for card in backs], bench.setting(False), loose=True)
        for k, page in reversed(list(enumerate(back, before + 1))):
            numbers |= dict.fromkeys(page.keys, k)
    listed: list[Page] = []
    for card, own in zip(made, tiles, strict=True):
        first = card.first(numbers.get(card.front.key, 0))
        listed += [_with_bars(page, card) for page in kept(fill, (first,), bench.setting(card.across))]
        listed += [_tile(tile, layout) for tile in own]
    listed += [page.numbered for page in back]
    return tuple(page(k, len(listed)) for k, page in enumerate(listed, 1))


def _tiles(card: Card, bench: Bench, layout: Layout) -> Sequence[Drawing]:
    return laid_out([replace(_template(one, bench.units), caption=()) for one in card.parts], layout)


def _template(one: CardPart, units: Units) -> Template:
    return template(one.part, one.blank, units, clamped=one.faces)


def _tile(tile: Drawing, layout: Layout) -> Page:
    return lambda k, of: numbered(tile, k, of, layout)


def _with_bars(page: Filled, card: Card) -> Page:
    """The page with check bars in its margins where the blank is true size."""

    def made(number: int, of: int) -> Drawing:
        drawing = page.numbered(number, of)
        if card.scale != 1.0:
            return drawing
        items = (*drawing.items, *check_bar(card.across, page.setting.units))
        return replace(drawing, items=items, layers=used(items))

    return made
