"""Gates of what leaves for the bench: each says in words what a page, a card, a setting or a sheet does wrong."""

import math
from collections import Counter
from itertools import product

from page_texts import clashes, texts_of
from shapely.geometry import LinearRing, LineString, Point, Polygon

from flatgen.core.outline import flatten
from flatgen.core.points import cross, dot, sub, unit
from flatgen.draw.setting_words import figures, first_words, strokes
from flatgen.draw.strips import piece_name, runs
from flatgen.page.drawing import Contour, Line, OrdinateDimension, extents

LEAST, TO_WORK_BY, AT_A_MACHINE = 2.0, 2.5, 10.0  # heights of texts [mm]
APART = 0.7  # a bend line and a sight line that print nearer cannot be told apart [mm]
FOOT, LEFT = 22.0, 12.1  # of a page, with its number and its caution at the left [mm]


def on_a_page(page):
    """What any page can do wrong: small or overlapping texts, items off the paper, lines too near to be told apart."""
    texts = list(texts_of(page))
    found = [f"{a} over {b}" for a, b in clashes(page)]
    found += [f"{text.text}: {text.height:.2f} high" for text in texts if text.height < LEAST - 1e-6]
    said = [t for t in texts if t.at[1] < FOOT and t.at[0] < LEFT and not t.bold and t.layer == "note"]
    caution = " ".join(text.text for text in sorted(said, key=lambda text: -text.at[1]))
    found += [f"the foot breaks off: {caution}"] if caution and caution[-1] not in ".:" else []
    ordinates = (item for item in page.items if isinstance(item, OrdinateDimension))
    found += [f"{item.text}: {item.height:.2f} high, to work by" for item in ordinates if item.height < TO_WORK_BY]
    (x0, y0, x1, y1), (sx, sy) = extents(page.items), page.stretch
    if x0 < 0.0 or y0 < 0.0 or x1 * sx > page.size[0] or y1 * sy > page.size[1]:
        found.append("runs off the paper")
    lines = {kind: [i for i in page.items if isinstance(i, Line) and i.layer.startswith(kind)] for kind in KINDS}
    near = product(lines["sight"], [*lines["bend-"], *lines["tangent"]])
    found += [f"{a.layer} and {b.layer} nearer than {APART}" for a, b in near if _near(a, b)]
    own = any(text.text == "initials" for text in texts)  # a tile may show an arrow's end only
    if own and any(item.layer == "grain" for item in page.items) and "GRAIN" not in {text.text for text in texts}:
        found.append("a grain arrow without its word")
    found += [f"no page is named: {text.text}" for text in texts if "000)" in text.text]
    metal = [
        LinearRing(flatten(i.outline, 0.01)) for i in page.items if isinstance(i, Contour) and i.layer == "outline"
    ]
    ends = [Point(p) for i in page.items if isinstance(i, Line) and i.layer == "datum-edge" for p in (i.start, i.end)]
    return found + ["datum edge off the metal" for p in ends if all(ring.distance(p) > 0.05 for ring in metal)]


KINDS = ("sight", "bend-", "tangent")


def _near(a, b):
    way, other = unit(sub(a.end, a.start)), unit(sub(b.end, b.start))
    along = sorted(dot(sub(p, a.start), way) for p in (b.start, b.end))
    beside = along[1] > 1.0 and along[0] < math.dist(a.start, a.end) - 1.0
    return abs(cross(way, other)) < 1e-3 and beside and abs(cross(way, sub(b.start, a.start))) < APART - 1e-6


def too_empty(pages):
    """Pages less than a third full that are not the last of their kind; templates are as large as their blanks."""
    own = [page for page in pages if any(text.text == "initials" for text in texts_of(page))]
    return [page.title for page in own[:-1] if page.size[1] - _lowest(page) < page.size[1] / 3.0]


def _lowest(page):
    said = (text.at[1] for text in texts_of(page) if text.at[1] > FOOT and text.layer != "bar")
    return min(said, default=page.size[1])


def of_a_card(card, pages):
    """A name or a hand that is missing, too many pages for a part."""
    said = "".join(text.text for text in texts_of(pages[0])).replace(" ", "")
    found = [f"{one.part.name} is not named" for one in card.parts if one.part.name.replace(" ", "") not in said]
    blank = card.parts[0].blank
    marks = {text.text for text in texts_of(pages[0]) if text.layer == "mark"}
    found += [f"face {face.id} is not named" for face in blank.faces if face.id not in marks]
    steps = "".join(text.text for page in pages for text in texts_of(page))
    elsewhere = any(page.title.endswith("continued") for page in pages)
    found += ["its sizes are on a page that no step names"] if elsewhere and "(page" not in steps else []
    own = sum(any(text.text == "initials" for text in texts_of(page)) for page in pages)  # the others are templates
    most = 2 + len(blank.bends) // 6 + len(blank.drilled) // 40
    return found + ([f"{own} pages"] if own > most else [])


def of_settings(setups, parts, pages, units):
    """A figure to set that is small, a part that is not named, a stop that touches nothing."""
    texts = [text for page in pages for text in texts_of(page)]
    large = {text.text for text in texts if text.height >= AT_A_MACHINE}
    said = "".join(text.text for text in texts).replace(" ", "")
    found = []
    for setup in setups:
        tried = first_words(setup, strokes(setup), units).rows
        if setup.stop_side in ("back", "front") and not all(f" {units}" in words for _, words in tried):
            found.append(f"setting {setup.number}: no size to try the first piece by")
        found += [
            f"{one.label} {one.value} is small" for one in figures(setup, units) if one.unit and one.value not in large
        ]
        for op in setup.operations:
            if parts[op.part].name.replace(" ", "") not in said:
                found.append(f"{parts[op.part].name} is not named")
            if op.picture is not None and op.picture.contact is not None and not _touched(op.picture):
                found.append(f"{op.part} {op.bend}: the stop touches nothing")
    return found


def _touched(picture):
    """Whether metal seen from above ends where the stop stands."""
    stop = LineString([(-1e4, picture.contact), (1e4, picture.contact)])
    metal = [*(outline for _, outline in picture.seen), *picture.seen_strips]
    return any(Polygon(flatten(outline, 0.01)).distance(stop) < 0.1 for outline in metal)


def of_a_sheet(nest, pages, blanks):
    """Cuts that have no number or no gauge; pieces that no cut names, or that more name than there are."""
    texts = [text for page in pages for text in texts_of(page)]
    found = runs(nest, blanks)
    numbered = sorted(order for run in found for _, orders in run.names for order in orders)
    large = sum(text.height >= AT_A_MACHINE for text in texts)
    printed = [order for run in found for _, orders in run.names for order in orders]
    singly = all(len(run.names) == 1 for run in found)  # pieces cut alike share a picture, out of turn where need be
    wrong = ["cuts out of their order"] if singly and printed != numbered else []
    wrong += [] if numbered == [cut.order for cut in nest.cuts] else ["a cut without number"]
    freed, lie = named_pieces(found), Counter(one.part for one in nest.placements)
    wrong += [f"{part}: {freed[part]} named of {lie[part]}" for part in lie if nest.cuts and freed[part] != lie[part]]
    return wrong + ([] if large == len(found) else [f"{len(found) - large} gauges are not there"])


def named_pieces(found):
    """How often each name is left over as a piece: what falls, what stays as the rest, less what is cut once more."""
    freed = Counter()
    for run in found:
        many = len(run.names)
        for name, _ in run.names:
            freed[name] += (run.back == "back under the blade") - 1
        for cut in run.cuts:
            freed[piece_name(cut.note)] += 0 if cut.trim else many
        freed[run.back.partition(":")[0]] += many
    return freed
