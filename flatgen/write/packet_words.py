"""Numbers of the packet in the job's units, and the sentences that page and paper share."""

import math
from collections.abc import Iterable, Mapping
from typing import Any

from flatgen.core.words import counted
from flatgen.model.checked import to_check
from flatgen.model.plan import Nest
from flatgen.model.results import Developed, Results
from flatgen.model.spent import hours, time_spent
from flatgen.page.findings import doubts
from flatgen.tally.first import first_cuts
from flatgen.units import format_length

GRAMS_PER_POUND = 453.59237  # exact, international agreement of 1959

CAUTIONS = (
    "Geometry only: nothing here says that a part is strong enough. The drawing, the designer, the inspector and the"
    " local authority decide; where the drawing and this packet differ, the drawing decides.",
    "Tables of radii and allowances are advice. Bend a test piece from the same sheet first, measure it, and make the"
    " first part of each setting a test part too.",
    "Keep hands clear of the leaf, the clamp and the shear; wear eye protection; sheet edges are sharp until they are"
    " deburred; no gloves near a turning drill.",
)


def length(mm: float, units: str) -> str:
    """A length with its unit."""
    return format_length(mm, units, unit=True)


def size(width: float, height: float, units: str) -> str:
    """Two lengths with their unit."""
    return f"{format_length(width, units)} × {format_length(height, units, unit=True)}"


def mass(grams: float, units: str) -> str:
    """A mass in kilograms, and in pounds beside inches."""
    kilograms = f"{grams / 1000:.2f} kg"
    return f"{grams / GRAMS_PER_POUND:.2f} lb ({kilograms})" if units == "in" else kilograms


def numbered_nests(results: Results) -> list[tuple[int, Nest]]:
    """Every nest with the number of its sheet, as its files are numbered."""
    return list(enumerate((nest for report in results.nests for nest in report.nests), 1))


def material_name(results: Results, key: str) -> str:
    """The material's name as people write it."""
    return next((made.part.material.name for made in results.parts if made.part.material.key == key), key)


def sheet_lines(results: Results) -> list[str]:
    """The sheets that the job takes, one line a size."""
    counts: dict[str, list[Any]] = {}
    for _, nest in numbered_nests(results):
        entry = counts.setdefault(nest.sheet.id, [0, nest])
        entry[0] += 1
    lines = []
    for name, (count, nest) in counts.items():
        sheet = nest.sheet
        kind = "remnant" if sheet.remnant else "sheet"
        what = f"{material_name(results, nest.material)} {length(nest.thickness, results.job.units)}"
        lines.append(f"{counted(count, kind)} {name}: {what}, {size(sheet.width, sheet.height, results.job.units)}")
    return lines


def next_steps(results: Results) -> list[str]:
    """What to do next, in order."""
    steps = []
    stopped = [made.part.id for made in results.parts if made.stopped]
    if stopped:
        names = ", ".join(stopped)
        steps.append(f"Correct what stops {names} (findings), or waive it with a reason in the job; then make again.")
    if any(f.state == "decide" for f in results.findings):
        steps.append("Read the findings marked “decide” and settle each with the drawing or its designer.")
    coupons = [made.part.id for made in results.parts if made.part.kind == "coupon" and not made.stopped]
    if coupons:
        cuts = "; ".join(cut.words for cut in first_cuts(results))
        steps.append(
            f"Part 1, test bends {f'first: cut {cuts}. B' if cuts else ', '.join(coupons) + ': b'}end, measure and"
            " record them (flatgen coupon record), make again. Part 2, what says PROVISIONAL, may change by them."
        )
    if any(report.nests for report in results.nests):
        steps.append("Check the first template or print against a rule, then cut in the order of the nests.")
    if results.setups:
        shop = results.job.shop
        steps += [f"{text}." for text in to_check(shop.brakes, results.job.checked, results.setups)]
        steps.append("Set the brake as the plan says; check the first piece of each setting before the rest.")
    return steps


def key_figures(results: Results) -> list[tuple[str, list[str]]]:
    """Key figures of the whole job."""
    from flatgen.write.results_json import totals

    job, total = results.job, totals(results)
    more = beyond(results.parts, results.nested)
    lacking = f"; {counted(total['not_nested'], 'piece')} not nested" if total["not_nested"] else ""
    done = so_far(results.finished_parts)
    said = f"{total['pieces_wanted']} wanted{done}, {total['pieces']} to cut{f': {more}' if more else ''}"
    finished = math.fsum(made.blank.mass * made.part.quantity for made in results.finished_parts)
    rows = [
        ("Pieces", [said + lacking]),
        ("Sheets", sheet_lines(results) or ["none"]),
    ]
    if total["cost"] is not None:
        rows.append(("Cost of sheet", [f"{job.shop.currency}{total['cost']:.2f}"]))
    spent = [(what, time) for what, time in time_spent(results) if time]
    said_of = ", ".join(f"{what} {hours(time)}" for what, time in spent)
    rows.append(("Time", [f"about {hours(math.fsum(time for _, time in spent))}: {said_of}"] if spent else ["none"]))
    rows += [
        ("Finished mass", [mass(finished, job.units)]),
        ("Doubtful", [doubts(results.findings, job.units)]),
    ]
    return rows


def so_far(parts: Iterable[Developed]) -> str:
    """How far a job is, in words that follow what is wanted; empty where nothing was cut yet."""
    known = [made.counts for made in parts if made.counts]
    if not any(one.cut for one in known):
        return ""
    figures = [(sum(one.good for one in known), "good"), (sum(one.rejected for one in known), "rejected")]
    figures.append((sum(one.in_work for one in known), "in work"))
    return "".join(f", {n} {what}" for n, what in figures)


def beyond(parts: Iterable[Developed], nested: Mapping[str, int]) -> str:
    """What is cut beside the pieces wanted: coupons, and pieces for those that will be spoiled."""
    coupons = spare = 0
    for made in parts:
        count = nested.get(made.part.id, 0)
        coupons += count if made.part.kind == "coupon" else 0
        spare += min(count, made.counts.spares) if made.counts else 0
    said = [counted(coupons, "coupon")] if coupons else []
    return ", ".join([*said, *([f"{spare} more for spoilage"] if spare else [])])
