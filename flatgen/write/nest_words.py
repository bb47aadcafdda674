"""How good the nests of one alloy, thickness and tool are, in words that page, paper and terminal share."""

import math

from flatgen.core.words import counted
from flatgen.model.results import NestReport, Results
from flatgen.write.packet_words import beyond, length, material_name

NAMES = {"margin": "margin", "kerf": "kerf", "gap": "gaps", "offcuts": "off-cuts kept", "scrap": "scrap"}
KEPT = "nests as kept in nest.lock"


def nest_title(results: Results, report: NestReport) -> str:
    """What is nested and how it is cut."""
    name = material_name(results, report.material)
    return f"{name} {length(report.thickness, results.job.units)}, {report.tool}"


def nest_facts(results: Results, report: NestReport) -> list[tuple[str, str]]:
    """Names with their sentences: use, waste by kind, cost and bound, what to buy, what to trim, where it is from."""
    waste = dict(report.waste)
    facts = []
    if report.nests:
        facts.append(("Used", f"{_share(waste['blanks'])} of {counted(len(report.nests), 'sheet')} becomes blanks"))
        facts.append(("The rest", ", ".join(f"{name} {_share(waste[key])}" for key, name in NAMES.items())))
        if report.cost is not None:
            facts.append(("Cost", f"{results.job.shop.currency}{report.cost:.2f}{_least(results, report)}"))
        elif report.least_share is not None:
            facts.append(("Bound", f"{_any_nest(report)} takes {_share(report.least_share)} of this sheet at least"))
        if report.settings:
            facts.append(("Gauge", _work(results, report)))
    ids = {place.part for nest in report.nests for place in nest.placements} | {left.part for left in report.unplaced}
    more = beyond((made for made in results.parts if made.part.id in ids), results.nested)
    if more:
        facts.append(("Besides the pieces wanted", more))
    if any(nest.first for nest in report.nests):
        facts.append(("Cut first", _first(report)))
    if report.to_buy:
        facts.append(("To buy", ", ".join(f"{count} of {sheet}" for sheet, count in report.to_buy)))
    if report.trims:
        facts.append(("Trim after the shear", ", ".join(f"{part} × {count}" for part, count in report.trims)))
    if report.unplaced:
        facts.append(("Not nested", ", ".join(f"{u.part} × {u.quantity}" for u in report.unplaced)))
    if report.kept:
        facts.append(("Kept", KEPT))
    if report.note:
        facts.append(("Note", report.note))
    return facts


def _work(results: Results, report: NestReport) -> str:
    """Settings and cuts, and the minutes that the shop's figures make of them."""
    cuts = sum(len(nest.cuts) for nest in report.nests)
    minutes = results.job.shop.minutes.spent(report.settings, cuts)
    return f"{counted(report.settings, 'setting')}, {counted(cuts, 'cut')}, about {minutes:.0f} minutes"


def _first(report: NestReport) -> str:
    """What comes before all other blanks, and what a strip of its own costs."""
    some = [nest for nest in report.nests if nest.first]
    parts = ", ".join(dict.fromkeys(part for nest in some for part in nest.first))
    lost = math.fsum(nest.first_lost for nest in some)
    return f"{parts}, in strips of their own: bend them before the rest is cut; this costs {_share(lost)} of a sheet"


def _least(results: Results, report: NestReport) -> str:
    """What no nest can come below, by the strongest argument and by metal alone."""
    if report.bound is None or report.area_bound is None:
        return ""
    money = results.job.shop.currency
    text = f"; {_any_nest(report)} costs {money}{report.bound:.2f} at least"
    if report.bound - report.area_bound > 0.005:
        text += f", by metal alone {money}{report.area_bound:.2f}"
    return text


def _any_nest(report: NestReport) -> str:
    return "any nest of the pieces that fit" if report.unplaced else "any nest"


def _share(value: float) -> str:
    return f"{value:.1%}"
