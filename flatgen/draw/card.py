"""Cards: one side of paper a part, with all that the bench needs to make and measure it. Lengths mm.

A blank that fits is drawn at true size, with bars to check the printer by; a larger one to a scale that the card
states, and its full-size templates follow behind the card.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache

from flatgen.core.words import Units
from flatgen.draw.card_hands import CardPart, names_of, shared, turned_words
from flatgen.draw.card_layout import Piece, on_one_page, on_pages, pieces_of, tall
from flatgen.draw.card_measure import measure_table, measure_words
from flatgen.draw.card_steps import bending_steps, cutting_steps, last_steps, steps_of
from flatgen.draw.card_tables import corner_tables, hole_tables, line_tables
from flatgen.draw.card_view import card_view
from flatgen.draw.formed import formed_view
from flatgen.draw.section import best_scale, section_view, sections
from flatgen.draw.template import Template, template
from flatgen.draw.tiles import Layout, check_bar, laid_out, numbered
from flatgen.draw.words import thickness_words
from flatgen.model.blank import Blank
from flatgen.model.part import HANDED
from flatgen.model.shop import Drill
from flatgen.page.content import Content, Picture, Steps, Subject, Words
from flatgen.page.drawing import Drawing, Item, extents
from flatgen.page.flow import Filled, Setting, fill, title
from flatgen.page.layers import used
from flatgen.page.paper import Paper, scale_text
from flatgen.page.place import side_by_side

SCALES = (1.0, 0.5, 0.25, 0.2, 0.1, 0.05, 0.02, 0.01)
LEAST_VIEW = 85.0  # a longer blank is not drawn smaller to save a page
MOST_BESIDE = 74.0  # width of a section that has the formed view beside it
CAUTION = "Edges are sharp: gloves. Eye protection. Where this and the drawing differ, the drawing decides."


@dataclass(frozen=True, slots=True)
class Bench:
    """What all cards of a job share."""

    job: str
    units: Units
    paper: Paper
    drills: tuple[Drill, ...]
    printer: tuple[float, float] = (1.0, 1.0)

    def setting(self, across: bool) -> Setting:
        """Pages of the shop's paper, upright or across."""
        return Setting(self.paper, self.job, self.units, across, CAUTION, self.printer)


@dataclass(frozen=True, slots=True)
class Card:
    """A card laid out: its subject, the way its page lies, the scale of its blank, the parts it is for."""

    subject: Subject
    across: bool
    scale: float
    parts: tuple[CardPart, ...]


def cards(made: Sequence[CardPart], bench: Bench) -> tuple[Card, ...]:
    """A card a part, in order; left and right share one where their blank is the same."""
    groups = shared(made)
    return tuple(_card(group, bench, f"card {k} of {len(groups)}") for k, group in enumerate(groups, 1))


def _card(group: tuple[CardPart, ...], bench: Bench, number: str) -> Card:
    """The largest scale at which all is on one page, true size first; several pages where none is."""
    one = group[0]
    pieces, head = pieces_of(_contents(group, bench)), _head(group, bench, number)
    view_at = cache(lambda scale: _view(one, bench.units, scale))
    largest = max(one.blank.width, one.blank.height)
    for scale in SCALES:
        if largest * scale < min(LEAST_VIEW, largest) - 0.01:
            break
        for across in (True, False):
            setting = bench.setting(across)
            height = setting.tall - title(head, setting.width).height
            laid = on_one_page(view_at(scale), pieces, setting.width, height)
            if laid:
                return Card(replace(head, contents=laid), across, scale, group)
    return _long(group, bench, head, pieces, view_at)


def _long(
    group: tuple[CardPart, ...],
    bench: Bench,
    head: Subject,
    pieces: Sequence[Piece],
    view_at: Callable[[float], Picture],
) -> Card:
    """A card that goes on overleaf: the largest view that leaves room for steps, whichever way needs fewest pages."""
    found: list[tuple[int, Card]] = []
    for across in (True, False):
        setting = bench.setting(across)
        height = setting.tall - title(head, setting.width).height
        for scale in SCALES:
            view = view_at(scale)
            wide = view.drawing.size[0]
            if wide <= setting.width and tall([view], wide) <= 0.98 * height:
                laid = on_pages(view, pieces, setting.width, height)
                card = Card(replace(head, contents=laid), across, scale, group)
                found.append((len(fill([card.subject], setting)), card))
                break
    return min(found, key=lambda pair: (pair[0], -pair[1].scale))[1]


def _head(group: tuple[CardPart, ...], bench: Bench, number: str) -> Subject:
    part = group[0].part
    wanted, spare = sum(one.part.quantity for one in group), sum(one.pieces - one.part.quantity for one in group)
    each = f" ({' + '.join(str(one.part.quantity) for one in group)})" if len(group) > 1 else ""
    side = f"{wanted} wanted{each}" + (f" + {spare} spare" if spare > 0 else "")
    hand = "" if part.hand != "none" else "no hand"
    drawing = " ".join(filter(None, (part.drawing, f"rev {part.revision}" if part.revision else "")))
    metal = f"{part.material.name}, T {thickness_words(part, bench.units)}"
    unit = "inches" if bench.units == "in" else "millimetres"
    under = "   ".join(filter(None, (metal, drawing, hand, f"sizes in {unit}", number)))
    name = " ".join(filter(None, (names_of(group), part.title)))
    return Subject(f"card-{part.id}", name, (), side=side, under=under)


def _view(one: CardPart, units: Units, scale: float) -> Picture:
    drawing = card_view(one.blank, one.faces, units, scale)
    size = "true size" if scale == 1.0 else f"scale {scale_text(scale)}"
    arrow = " Arrows point to the side under the nose." if one.blank.bends else ""
    return Picture(
        drawing, f"Blank of {one.part.id}, upper side", true=True, caption=f"Upper side toward you, {size}.{arrow}"
    )


def _contents(group: tuple[CardPart, ...], bench: Bench) -> list[Content | tuple[Content, ...]]:
    one, units = group[0], bench.units
    part, blank = one.part, one.blank
    texts = cutting_steps(blank, one.source, units)
    for hand in group:
        named = f"{HANDED[hand.part.hand].strip()}: " if len(group) > 1 else ""
        texts += [named + text for text in bending_steps(hand.part.id, hand.blank, hand.setups, units)]
    texts += [*last_steps(blank, units), "Measure."]
    found: list[Content | tuple[Content, ...]] = []
    if len(group) > 1:
        found.append(Words(turned_words(*group), "strong"))
    found.append(Steps(steps_of(texts, part.id)))
    found += hole_tables(blank, bench.drills, units)
    found += line_tables(blank, one.faces, units)
    found += [*_pictures(blank, units)]
    for hand in group:
        if hand.checks is not None:
            found.append((measure_table(hand.checks, units), Words(measure_words(hand.checks), "quiet")))
    found += corner_tables(blank, units)
    found += [Words(note) for note in part.notes]
    return found


def _pictures(blank: Blank, units: Units) -> list[Picture]:
    """Sections and the formed view; lettering keeps its height, so they are drawn for their place."""
    if not blank.bends:
        return []
    found = []
    for section in sections(blank):
        scale = best_scale(section, 46.0, 34.0)
        drawn = _framed(section_view(section, scale, units), units)
        alt = f"Section square to {', '.join(sorted(bend.id for bend, _, _ in section.bends))}"
        found.append(Picture(drawn, alt, true=True, caption=f"{alt}, scale {scale_text(scale)}."))
    formed = Picture(_framed(formed_view(blank, 36.0), units), "Formed part", true=True, caption="Formed.")
    if len(found) > 1 or found[0].drawing.size[0] > MOST_BESIDE:
        return [*found, formed]
    both = side_by_side((found[0].drawing, formed.drawing), 5.0)
    return [
        replace(found[0], drawing=both, alt=f"{found[0].alt}; the formed part", caption=f"{found[0].caption} Formed.")
    ]


def _framed(items: Sequence[Item], units: Units) -> Drawing:
    x0, y0, x1, y1 = extents(items)
    size = (x1 - x0 + 2.0, y1 - y0 + 2.0)
    return Drawing("", size, tuple(items), used(items), units, origin=(x0 - 1.0, y0 - 1.0))


Page = Callable[[int, int], Drawing]


def card_pages(made: Iterable[Card], bench: Bench) -> tuple[Drawing, ...]:
    """All cards as one document, the templates of a blank that is not drawn true size behind its card."""
    listed: list[Page] = []
    layout = Layout(bench.paper, stretch=bench.printer, title=bench.job)
    for card in made:
        for page in fill([card.subject], bench.setting(card.across)):
            listed.append(_with_bars(page, card))
        if card.scale != 1.0:
            tiles = [replace(_template(one, bench.units), caption=()) for one in card.parts]
            listed += [_tile(tile, layout) for tile in laid_out(tiles, layout)]
    return tuple(page(k, len(listed)) for k, page in enumerate(listed, 1))


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
