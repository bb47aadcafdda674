"""Parts of the page: a picture each, that opens the part's card, what was found at it, its shape and its files."""

from collections.abc import Sequence
from typing import Any

from flatgen.model.blank import Blank
from flatgen.model.results import Developed, Results
from flatgen.model.tally import DRILLED
from flatgen.page.content import Count, Subject
from flatgen.page.findings import contents, lines
from flatgen.page.packet import Enclosure
from flatgen.tally.first import first_cuts
from flatgen.write.packet_html import Html, data, folded, tag, word
from flatgen.write.packet_pictures import formed_numbers
from flatgen.write.screen import article, shown, svg

MANY = 60  # parts, of which more have their cards made when they are opened: a browser lays out all that it is given


def parts_section(results: Results, enclosures: Sequence[Enclosure], cards: Sequence[tuple[str, Subject]]) -> Html:
    """All parts as pictures, test bends left out; ``cards`` by part number."""
    waits = results.waits(made.part.id for made in results.parts)
    title = f"Part 2: parts, provisional until {', '.join(waits)} {'is' if len(waits) == 1 else 'are'} recorded"
    return _section(results, enclosures, cards, "part", title if waits else "Parts")


def test_bends_section(
    results: Results, enclosures: Sequence[Enclosure], cards: Sequence[tuple[str, Subject]]
) -> Html | None:
    """What is cut and bent before all else; None where nothing is."""
    if not any(made.part.kind == "coupon" for made in results.parts):
        return None
    cuts = [f"Cut {cut.words}." for cut in first_cuts(results)]
    steps = tag("ol", [tag("li", word(step)) for step in (*cuts, "Bend, measure, record, make again.")])
    return _section(results, enclosures, cards, "coupon", "Part 1: test bends first", steps)


def _section(
    results: Results,
    enclosures: Sequence[Enclosure],
    cards: Sequence[tuple[str, Subject]],
    kind: str,
    title: str,
    before: Html | None = None,
) -> Html:
    """Parts of one kind as pictures."""
    of = dict(cards)
    shapes: list[Any] = [formed_numbers(made.blank) if made.blank.bends else None for made in results.parts]
    first: dict[str, int] = {}
    tiles = []
    for k, made in enumerate(results.parts):
        if made.part.kind != kind:
            continue
        card = of.get(made.part.id)
        tiles.append(_part(k, made, results, enclosures, card, first.setdefault(card.key, k) if card else k))
    return tag(
        "section",
        tag("h2", word(title)),
        before,
        tag("div", tiles, class_="tiles"),
        data("formed-shapes", shapes) if kind == "part" else None,
        id="parts" if kind == "part" else "test-bends",
    )


def _part(
    k: int, made: Developed, results: Results, enclosures: Sequence[Enclosure], card: Subject | None, first: int
) -> Html:
    part = made.part
    found = lines((f for f in results.findings if f.part == part.id), results.job.units)
    worst = found[0].state if found and found[0].state in ("stop", "decide") else ""
    state = "STOP" if made.stopped else worst
    count = f"{part.quantity} wanted" if part.kind == "part" else "test bend"
    summary = tag(
        "summary",
        _picture(made, enclosures),
        tag("strong", word(part.id)),
        " ",
        tag("span", word(part.title), class_="note") if part.title else None,
        tag("span", count, tag("strong", f" {state}", class_=state.lower()) if state else None, class_="note"),
    )
    own = tag("article", tag("h3", word(part.name)))
    if card:
        # parts that share a card have it at the first of them
        own = article(card) if first == k else tag("p", tag("a", "Its card: ", word(card.title), href=f"#{card.key}"))
    if len(results.parts) > MANY:
        own = folded(own)
    return tag(
        "details",
        summary,
        [shown(content) for content in contents(found, places=False)],
        own,
        _formed(k, part.id, made.blank),
        [tag("p", word(box.what), " ", shown(box)) for box in station_boxes(made)],
        _files(part.id, enclosures),
        id=f"part-{k}",
        class_="tile",
    )


def station_boxes(made: Developed) -> list[Count]:
    """Pieces that are counted off of a part beside its bends."""
    part, counts = made.part.id, made.counts
    if made.stopped or counts is None:
        return []
    of = counts.cut + counts.to_cut
    if counts.formed:
        return []
    sawn = [Count(f"sawn/{part}", f"{part} sawn off", of, counts.cut)] if made.part.cut_from else []
    done = dict(counts.done).get(DRILLED, 0)
    drilled = [Count(f"drilled/{part}", f"{part} drilled and deburred", of, done)] if made.blank.holes else []
    return [*sawn, *drilled, Count(f"measured/{part}", f"{part} measured and right", of, counts.good)]


def _picture(made: Developed, enclosures: Sequence[Enclosure]) -> Html:
    kind = "formed" if made.blank.bends else "flat"
    drawn = next((e.drawings[0] for e in enclosures if e.kind == kind and e.about == made.part.id), None)
    return svg(drawn, f"{made.part.id}, {kind}") if drawn else tag("span", "no drawing", class_="note")


def _formed(k: int, part_id: str, blank: Blank) -> Html | None:
    if not blank.bends:
        return None
    label = f"Formed {part_id}. Arrow keys turn it, + and - change its size, Home sets it back"
    return tag(
        "figure",
        tag("div", class_="formed", data_shape=k, data_label=label),
        tag("figcaption", tag("span", "Formed. Drag to turn it.", class_="turns")),
    )


def _files(part_id: str, enclosures: Sequence[Enclosure]) -> Html | None:
    links = [
        tag("li", tag("a", f"{e.title} ({ending.upper()})", href=name))
        for e in enclosures
        if e.about == part_id and e.kind != "nest"
        for name, ending in zip(e.files, e.formats, strict=True)
    ]
    return tag("ul", links, class_="files") if links else None
