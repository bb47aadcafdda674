"""Every drawing that goes into a job's packet, with the files it becomes. A new kind is one function here."""

import hashlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from flatgen.kept import kept, later
from flatgen.model.checked import to_check
from flatgen.model.job import Job
from flatgen.model.plan import Setup
from flatgen.model.results import Developed, Results
from flatgen.model.shop import Shop
from flatgen.page.packet import Enclosure, Subjects
from flatgen.track import Track, silent

if TYPE_CHECKING:
    from flatgen.draw.card import Bench, Card
    from flatgen.model.plan import Nest
    from flatgen.page.content import Subject
    from flatgen.page.flow import Setting

EVENING = 150.0  # of which the packet speaks [min]
DEVICES = {"CON", "PRN", "AUX", "NUL", *(f"{port}{n}" for port in ("COM", "LPT") for n in range(1, 10))}  # no files


def enclosures(results: Results, track: Track = silent) -> tuple[Enclosure, ...]:
    """All drawings of a job: for each part that may be cut, for each nest.

    track : lets the terminal show how far the work is
    """
    wanted = [made for made in results.parts if not (made.stopped or made.finished)]
    found: list[Enclosure] = []
    for made in track(wanted, "drawing"):
        found += part_drawings(results, made)
    found += nest_drawings(results)
    found += card_drawings(results)
    found += setup_drawings(results)
    found += gauge_drawings(results)
    found += drill_drawings(results)
    found += coupon_drawings(results, wanted)
    found += tally_drawings(results)
    return tuple(found)


def part_drawings(results: Results, made: Developed) -> Iterator[Enclosure]:
    """The true-size pattern, the file for the machine, and the flat and formed views for the pages."""
    from flatgen.draw.blank import blank_pattern, flat_pattern
    from flatgen.draw.coupon import coupon_pattern
    from flatgen.draw.formed import formed_drawing
    from flatgen.draw.machine import left_as_pilots, machine_pattern, router_path, units_for
    from flatgen.draw.machine_letter import part_letter

    job, part, blank = results.job, made.part, made.blank
    clamped = clamped_faces(results, part.id)
    own, about = file_name(part.id), part.id
    name = f"blanks/{own}"
    if part.cut_from:  # no blank of it is cut
        yield Enclosure(name, "flat", "Flat", later(flat_pattern, part, blank, job.units), (), about)
        yield Enclosure(name, "formed", "Formed part", later(formed_drawing, blank, part.id), (), about)
        return
    if part.kind == "coupon":
        pattern = later(coupon_pattern, part, blank, job.units)
    else:
        pattern = later(blank_pattern, part, blank, made.findings, job.units, clamped)
    yield Enclosure(name, "blank", "Pattern at true size", pattern, ("dxf", "svg"), about)
    tool = job.shop.tool(made.tool)
    if part.kind == "part" and tool.reads_files:
        unit = units_for(tool, job.units)
        cutting = later(machine_pattern, part.mark, blank, tool, job.shop.drills, job.units)
        file = f"blanks/machine/{own}-{unit}"
        yield Enclosure(file, "blank", f"For the machine, in {unit}", cutting, ("dxf",), about)
        pilots, own_file = left_as_pilots(blank, tool, job.shop.drills), f"{file.rpartition('/')[2]}.dxf"
        letter = later(part_letter, part, blank, made.pieces, cutting, own_file, pilots)
        yield Enclosure(file, "blank", "Letter that goes with it", letter, ("pdf",), about)
        if tool.router_bit:
            path = later(router_path, part.mark, blank, tool, job.shop.drills, job.units)
            title = f"Path of the router bit, in {unit}"
            yield Enclosure(f"blanks/router/{own}-{unit}", "blank", title, path, ("dxf",), about)
    yield Enclosure(name, "flat", "Flat blank", later(flat_pattern, part, blank, job.units), (), about)
    yield Enclosure(name, "formed", "Formed part", later(formed_drawing, blank, part.id), (), about)


def clamped_faces(results: Results, part: str) -> dict[str, str]:
    """For each bend of a part the face under the nose bar, where the brake has been planned."""
    return {
        op.bend: op.clamped for setup in results.setups for op in setup.operations if op.part == part and op.clamped
    }


def nest_drawings(results: Results) -> Iterator[Enclosure]:
    """Each sheet with its blanks, at true size and on paper."""
    from flatgen.draw.machine import left_as_pilots, machine_nest, units_for
    from flatgen.draw.machine_letter import nest_letter
    from flatgen.draw.nest import nest_drawing
    from flatgen.draw.sheets import CAUTION
    from flatgen.page.flow import pages

    job = results.job
    blanks = {made.part.id: made.blank for made in results.parts}
    marks = {made.part.id: made.part.mark or made.part.id for made in results.parts}
    for number, (nest, subject) in enumerate(sheet_subjects(results), 1):
        laid = {one.part: blanks[one.part] for one in nest.placements}
        drawing = later(nest_drawing, nest, laid, job.units)
        own = f"sheet-{number:02d}-{file_name(nest.sheet.id)}"
        name = f"nests/{own}"
        yield Enclosure(name, "nest", f"Sheet {number}", drawing, ("dxf", "svg"), str(number))
        tool = job.shop.tool(nest.tool)
        sheets = later(pages, (subject,), printed_on(job, CAUTION))
        yield Enclosure(name, "nest", f"Sheet {number} on paper, with its cuts", sheets, ("pdf",), str(number))
        if tool.edge_to_edge:
            continue  # a shear cuts by its gauge
        unit = units_for(tool, job.units)
        cutting = later(machine_nest, nest, laid, tool, job.shop.drills, job.units, False)
        file = f"nests/machine/{own}-{unit}"
        yield Enclosure(file, "nest", f"Sheet {number} for the machine, in {unit}", cutting, ("dxf",), str(number))
        pilots = {part: left_as_pilots(blank, tool, job.shop.drills) for part, blank in laid.items()}
        letter = later(nest_letter, nest, marks, cutting, f"{own}-{unit}.dxf", pilots)
        yield Enclosure(file, "nest", "Letter that goes with it", letter, ("pdf",), str(number))
        if tool.router_bit:
            path = later(machine_nest, nest, laid, tool, job.shop.drills, job.units, True)
            title = f"Sheet {number}, path of the router bit, in {unit}"
            yield Enclosure(f"nests/router/{own}-{unit}", "nest", title, path, ("dxf",), str(number))


def sheet_subjects(results: Results, *, pictured: bool = True) -> "Iterator[tuple[Nest, Subject]]":
    """Every nest in order with what is said of its sheet; ``pictured``: with the picture of the whole of it."""
    from flatgen.draw.sheets import Shown, sheet_subject
    from flatgen.tally.first import first_cuts

    shop, units = results.job.shop, results.job.units
    blanks = {made.part.id: made.blank for made in results.parts}
    names = {made.part.material.key: made.part.material.name for made in results.parts}
    total = sum(len(report.nests) for report in results.nests)
    first = {cut.number: cut.upto for cut in first_cuts(results)}
    for number, (report, nest) in enumerate(((r, n) for r in results.nests for n in r.nests), 1):
        bit = shop.tool(nest.tool).router_bit
        laid = {one.part: blanks[one.part] for one in nest.placements}
        waits = results.waits(laid)
        shown = Shown(
            laid, units, number, total, bit, dict(report.trims), pictured, shop.minutes, first.get(number, 0), waits
        )
        yield nest, kept(sheet_subject, replace(nest, material=names.get(nest.material, nest.material)), shown)


def card_drawings(results: Results) -> Iterator[Enclosure]:
    """The cards of all parts, each with its templates behind it where it is not drawn at true size."""
    from flatgen.draw.card import card_pages

    bench, made = card_bench(results), job_cards(results)
    if made:
        yield Enclosure("cards", "card", "Cards: one a part", later(card_pages, made, bench), ("pdf",))


def job_cards(results: Results) -> "tuple[Card, ...]":
    """The cards of all parts that may be cut, as the packet and its page show them."""
    from flatgen.draw.card import cards
    from flatgen.draw.card_groups import CardPart
    from flatgen.draw.card_steps import Source
    from flatgen.draw.view import clamped_faces as faces_of
    from flatgen.records.checklist import checklist

    job = results.job
    made = []
    for one in results.parts:
        if one.stopped or one.counts is None or one.finished:
            continue
        part, blank = one.part, one.blank
        faces = faces_of(part, blank, clamped_faces(results, part.id))
        source = Source(results.job.shop.tool(one.tool), sheets_of(results, part.id))
        setups = setups_of(results, part.id)
        checks = kept(checklist, part, blank, job.shop.seen_from(part.material.key), setups, job.units)
        made.append(CardPart(part, blank, faces, one.counts, source, setups, checks, one.waits))
    return cards(made, card_bench(results))


def setups_of(results: Results, part: str) -> tuple[Setup, ...]:
    """The settings that a part is bent at, with its own bends only."""
    own = ((setup, tuple(op for op in setup.operations if op.part == part)) for setup in results.setups)
    return tuple(replace(setup, operations=ops) for setup, ops in own if ops)


def card_bench(results: Results) -> "Bench":
    """What the cards of a job share."""
    from flatgen.draw.card import Bench
    from flatgen.page.paper import paper

    job, shop = results.job, results.job.shop
    return Bench(job.title, job.units, paper(shop.printer_paper), shop.drills, shop.printer_scale, shop.minutes)


def sheets_of(results: Results, part: str) -> tuple[int, ...]:
    """Numbers of the sheets that blanks of a part lie on."""
    nests = (nest for report in results.nests for nest in report.nests)
    return tuple(k for k, nest in enumerate(nests, 1) if any(laid.part == part for laid in nest.placements))


def setup_drawings(results: Results) -> Iterator[Enclosure]:
    """The brake settings: all in order, then each on its own."""
    from flatgen.draw.setting_words import CAUTION
    from flatgen.draw.settings import setting_pages

    job, plan = results.job, results.plan
    if plan is None or not plan.setups:
        return
    parts = {made.part.id: made.part for made in results.parts}
    blanks = {made.part.id: made.blank for made in results.parts}
    on = printed_on(job, CAUTION)
    checks = tuple(to_check(job.shop.brakes, job.checked, plan.setups))
    drawn = later(setting_pages, plan, parts, blanks, job.units, on, job.shop.minutes, checks, waiting(results))
    yield Enclosure("setup", "setup", "Brake settings", drawn, ("pdf",))


def waiting(results: Results) -> dict[str, tuple[str, ...]] | None:
    """Test bends that each part waits for; None where the job asks for none."""
    return {made.part.id: made.waits for made in results.parts} if results.job.coupons else None


def gauge_drawings(results: Results) -> Iterator[Enclosure]:
    """Gauges for the leaf and for the bends: at true size on paper, and as files to cut from scrap."""
    from flatgen.draw.gauges import gauge_pages, gauge_pattern, gauges_of
    from flatgen.draw.tiles import Layout
    from flatgen.page.paper import page_paper

    job = results.job
    gauges = gauges_of(results.plan) if results.plan else ()
    if not gauges:
        return
    paper = page_paper(job.shop.printer_paper, job.units)
    layout = Layout(paper, stretch=job.shop.printer_scale, title=job.title)
    drawn = later(gauge_pages, gauges, layout)
    yield Enclosure("gauges", "template", "Gauges for leaf and bends, true size", drawn, ("pdf",))
    for gauge in gauges:
        pattern = later(gauge_pattern, gauge, job.units)
        yield Enclosure(f"gauges/{gauge.name}", "template", f"Gauge {gauge.name}, to cut", pattern, ("dxf",))


def drill_drawings(results: Results) -> Iterator[Enclosure]:
    """Drill templates of parts that are made many times: at true size on paper, and as files."""
    from flatgen.draw.drill_template import drill_pages, drill_pattern, wanted
    from flatgen.draw.tiles import Layout
    from flatgen.page.paper import page_paper

    job = results.job
    own = [(one.part, one.blank) for one in results.parts if not one.stopped and wanted(one.part, one.blank)]
    if not own:
        return
    layout = Layout(page_paper(job.shop.printer_paper, job.units), stretch=job.shop.printer_scale, title=job.title)
    drawn = later(drill_pages, own, job.shop.drills, job.units, layout)
    yield Enclosure("drill-templates", "template", "Drill templates, true size", drawn, ("pdf",))
    for part, blank in own:
        pattern = later(drill_pattern, part, blank, job.shop.drills, job.units)
        name, title = f"drill/{file_name(part.id)}", f"Drill template of {part.id}, to cut and drill"
        yield Enclosure(name, "template", title, pattern, ("dxf",))


def tally_drawings(results: Results, minutes: float = EVENING) -> Iterator[Enclosure]:
    """How far each part is, and what to do in an evening of so many minutes."""
    from flatgen.draw.tally import tally_subject
    from flatgen.page.flow import pages

    if any(made.counts for made in results.parts):
        drawn = pages((tally_subject(results, minutes),), printed_on(results.job, ""))
        yield Enclosure("tally", "tally", "The tally, and an evening's work", drawn, ("pdf",))


def subjects(results: Results) -> Subjects:
    """Cards, settings and sheets as the packet's page shows them."""
    from flatgen.draw.coupon import coupon_subject
    from flatgen.draw.settings import setting_subjects
    from flatgen.draw.tally import tally_subject

    units = results.job.units
    parts = {made.part.id: made.part for made in results.parts}
    blanks = {made.part.id: made.blank for made in results.parts}
    cards = tuple((one.part.id, card.subject) for card in job_cards(results) for one in card.parts)
    setting = {op.part: setup for setup in coupon_settings(results.parts, results.job.shop) for op in setup.operations}
    cards += tuple(
        (part.id, coupon_subject(part, blanks[part.id], units, cut_on(results, part.id), setting.get(part.id)))
        for part in (made.part for made in results.parts if not (made.stopped or made.finished))
        if part.kind == "coupon"
    )
    plan = results.plan
    minutes = results.job.shop.minutes
    settings = setting_subjects(plan, parts, blanks, units, None, minutes, waiting(results)) if plan else ()
    counted = (tally_subject(results, EVENING),) if any(made.counts for made in results.parts) else ()
    return Subjects(cards, settings, tuple(one for _, one in sheet_subjects(results, pictured=False)), counted)


def printed_on(job: Job, caution: str) -> "Setting":
    """The shop's own paper with what every page of a job says."""
    from flatgen.page.flow import on_paper

    return on_paper(job.shop.printer_paper, job.title, job.units, caution)


def coupon_drawings(results: Results, wanted: Sequence[Developed]) -> Iterator[Enclosure]:
    """What to set for each test bend, with boxes for what is measured."""
    from flatgen.draw.coupon import coupon_pages
    from flatgen.tally.first import first_cuts

    job = results.job
    coupons = [made for made in wanted if made.part.kind == "coupon"]
    if coupons:
        blanks = {made.part.id: made.blank for made in coupons}
        parts = [made.part for made in coupons]
        cuts = tuple(cut.words for cut in first_cuts(results))
        where = {part.id: cut_on(results, part.id) for part in parts}
        setups = coupon_settings(wanted, job.shop)
        sheets = later(coupon_pages, job.title, parts, blanks, job.units, cuts, where, job.shop.printer_paper, setups)
        yield Enclosure("coupons", "inspection", "Coupon sheets: bend and measure these first", sheets, ("pdf",))


def cut_on(results: Results, strip: str) -> str:
    """From which sheets a test bend is cut; that it is cut already where it lies on none."""
    from flatgen.tally.first import first_cuts

    own = [cut for cut in first_cuts(results) if strip in dict(cut.strips)]
    return ", ".join(f"sheet {cut.number}, to cut {cut.upto}" for cut in own) or "cut already: bend, measure, record"


def coupon_settings(made: Iterable[Developed], shop: Shop) -> tuple[Setup, ...]:
    """The settings of the brake that bend the test strips among the parts."""
    from flatgen.brake.plan import plan_job

    strips = [one for one in made if one.part.kind == "coupon" and not (one.stopped or one.finished)]
    if not strips or not shop.brakes:
        return ()
    blanks = {one.part.id: one.blank for one in strips}
    return kept(plan_job, [one.part for one in strips], blanks, shop, pictures=False).setups


def file_name(part_id: str) -> str:
    """A part number as a file name that any system takes; a number that had to be changed gets a tail of its own.

    >>> file_name("TF-101"), file_name("TF/101") == file_name("TF_101")
    ('TF-101', False)
    """
    kept = "".join(c if c.isalnum() or c in "-_." else "_" for c in part_id).strip(".")[:80]
    if kept and kept == part_id and kept.split(".")[0].upper() not in DEVICES:
        return kept
    return f"{kept or 'part'}-{hashlib.sha256(part_id.encode()).hexdigest()[:6]}"
