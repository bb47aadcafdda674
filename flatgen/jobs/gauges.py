"""The gauges of a job by themselves, as calls in order: pages, files, and where they lie on scrap. Lengths mm."""

import math
from collections.abc import Iterator, Sequence
from pathlib import Path

from flatgen.core.outline import area, bounds, moved
from flatgen.draw.gauges import Gauge, gauges_of, wedge
from flatgen.errors import InputError
from flatgen.jobs.make import compute, inputs_of, planned
from flatgen.jobs.nests import left_on_hand
from flatgen.model.blank import Blank
from flatgen.model.job import Job
from flatgen.model.plan import Nest, Piece
from flatgen.model.results import Results
from flatgen.model.shop import CuttingTool, Sheet

THIN, THICK = 0.5, 2.1  # sheet that is stiff enough for a gauge and cut by snips [mm]; common practice, no source
APART = 3.0  # between two wedges, for the saw or the snips [mm]; common practice, no source
FULL = 0.6  # of scrap that wedges take, at the most that is tried first


def write_gauges(job: Job, out: Path, *, scrap: bool, into: bool) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Write the gauges, on wish with their places on scrap; names of the files, and of wedges that find no place."""
    from flatgen.draw.nest import nest_drawing
    from flatgen.draw.sheets import CAUTION, Shown, sheet_subject
    from flatgen.drawings import gauge_drawings, printed_on
    from flatgen.output.folder import written_folder
    from flatgen.page.flow import pages
    from flatgen.write import dxf
    from flatgen.write.pdf import write_pages

    results = compute(job) if scrap else planned(job)
    gauges = gauges_of(results.plan) if results.plan else ()
    if not gauges:
        raise InputError("nothing is bent with the leaf, so there is nothing to set or to measure by a gauge")
    blanks = {blank.part: blank for gauge in gauges for blank in blanks_of(gauge)}
    nests, left = on_scrap(results, list(blanks.values())) if scrap else ((), ())
    files: list[str] = []
    with written_folder(out, "brake gauges", into=into, inputs=inputs_of(job)) as folder:
        for one in gauge_drawings(results):
            name = f"{one.name.removeprefix('gauges/')}.{one.formats[0]}"
            if one.formats == ("pdf",):
                write_pages(one.drawings, folder / name)
            else:
                dxf.write(one.drawings[0], folder / name)
            files.append(name)
        for k, nest in enumerate(nests, 1):
            dxf.write(nest_drawing(nest, blanks, job.units), folder / f"scrap-{k:02d}.dxf")
            shown = Shown(blanks, job.units, k, len(nests))
            write_pages(pages((sheet_subject(nest, shown),), printed_on(job, CAUTION)), folder / f"scrap-{k:02d}.pdf")
            files += [f"scrap-{k:02d}.dxf", f"scrap-{k:02d}.pdf"]
    return tuple(files), left


def blanks_of(gauge: Gauge) -> Iterator[Blank]:
    """The wedges of a gauge as blanks, each with its low corner at 0, 0."""
    for name, angle in gauge.wedges:
        shape = wedge(angle, gauge.relief)
        x0, y0, x1, y1 = bounds([shape])
        outline = moved(shape, (1.0, 0.0, 0.0, 1.0, -x0, -y0))
        own = name if name.startswith("LEAF") else f"{name} of {gauge.name}"
        size = (x1 - x0, y1 - y0)
        yield Blank(own, outline, (), (), (), (), *size, area(outline), None, 0.0, 0.0, (*size, 0.0), (0.0, 0.0, 0.0))


def scrap_of(results: Results) -> tuple[Sheet, ...]:
    """Remnants and off-cuts that the job leaves, whatever their metal, the smallest first."""
    nests = [nest for report in results.nests for nest in report.nests]
    left = [sheet for sheet in left_on_hand(results.job.shop.sheets, nests) if sheet.remnant and sheet.copies != 0]
    fit = [sheet for sheet in left if THIN <= sheet.thickness <= THICK]
    return tuple(sorted(fit, key=lambda sheet: (sheet.width * sheet.height, sheet.id)))


def on_scrap(results: Results, blanks: Sequence[Blank]) -> tuple[tuple[Nest, ...], tuple[str, ...]]:
    """The wedges on as little scrap as holds them, and the names of those that it does not hold."""
    from flatgen.nest import nest_pieces
    from flatgen.nest.problem import Problem

    own = scrap_of(results)
    pieces = [Piece(blank.part, blank.outline, (), 1, None) for blank in blanks]
    wanted, tool = math.fsum(blank.area for blank in blanks), CuttingTool("snips or saw", "profile-cut", gap=APART)
    nests: tuple[Nest, ...] = ()
    left = tuple(blank.part for blank in blanks)
    for many in range(1, len(own) + 1):
        if many < len(own) and math.fsum(sheet.width * sheet.height for sheet in own[:many]) * FULL < wanted:
            continue
        found = nest_pieces(Problem(pieces, own[:many], tool))
        nests, left = found.nests, tuple(one.part for one in found.unplaced)
        if not left:
            break
    return nests, left
