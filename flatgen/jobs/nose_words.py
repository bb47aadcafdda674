"""The nose plan in words: what is asked, a row a choice, and why it stands where it does."""

from collections.abc import Sequence

from flatgen.core.words import Units, counted
from flatgen.jobs.nose_plan import NosePlan
from flatgen.model.finding import Finding
from flatgen.model.nose import Asked, Choice
from flatgen.units import format_force, format_length

PRICED = {
    "flange-too-short": "flat too short",
    "nose-differs": "rivets too near the curve",
    "brake-flange": "too little flat to hold",
    "brake-bow": "flange comes out bowed",
    "brake-reach": "no stop reaches",
    "brake-collision": "meets the brake",
    "brake-way-out": "hard to take out",
    "brake-length": "longer than the bar",
    "brake-angle": "leaf goes not far enough",
}


def asked_rows(asked: Sequence[Asked], units: Units) -> tuple[list[tuple[str, ...]], tuple[str, ...]]:
    """A row a metal, a column a table; and the heads."""
    tables = sorted({table for one in asked for table, _ in one.tables})
    rows = []
    for one in asked:
        least = dict(one.tables)
        cells = [_radius(least[table], units) if table in least else "-" for table in tables]
        drawn = ", ".join(format_length(radius, units) for radius in one.drawn)
        rows.append((one.material, format_length(one.thickness, units), str(one.bends), drawn, *cells))
    return rows, ("metal", f"T, {units}", "bends", "drawings", *tables)


def _radius(radius: float | None, units: Units) -> str:
    return "advises against" if radius is None else format_length(radius, units)


def heads(plan: NosePlan) -> tuple[str, ...]:
    """Of the table of choices."""
    tables = [table for table, _, _ in plan.now.met]
    return (
        "",
        "bars",
        *tables,
        "prove",
        "below",
        "stopped",
        "decide",
        "strips",
        "bars used",
        "pull",
        "set-back",
        "min",
    )


def row(number: str, choice: Choice, units: Units) -> tuple[str, ...]:
    """One choice: bends that each table allows, what is still to be proved, what it costs."""
    back = "-"
    if choice.setback is not None:
        back = " to ".join(format_length(one, units) for one in choice.setback)
    return (
        number,
        ", ".join(bar.name for bar in choice.bars),
        *(f"{met}/{of}" for _, met, of in choice.met),
        str(choice.unproved),
        str(choice.below),
        str(choice.stopped),
        str(choice.decisions),
        str(choice.coupons),
        str(choice.changes),
        format_force(choice.pull, units),
        back,
        f"{choice.minutes:.0f}",
    )


def reason(choice: Choice, plan: NosePlan) -> str:
    """What it costs and why, what it settles and brings against the bars in use now, and the price of its radii."""
    parts = [" + ".join(f"{name} {minutes:.0f}" for name, minutes in choice.costs if minutes)]
    settled, brought = change(plan.now, choice)
    if settled:
        parts.append(f"settles {_counted_rules(settled)}")
    if brought:
        parts.append(f"brings {_counted_rules(brought)}")
    parts += [f"{what}: {', '.join(some)}" for what, some in price(choice).items()]
    return "; ".join(parts)


Key = tuple[str, str, str, str]


def change(now: Choice, choice: Choice) -> tuple[tuple[Key, ...], tuple[Key, ...]]:
    """Findings that ask or stop, as (rule, part, place, state): those that go with a choice, and those that come."""
    before, after = ({key_of(f) for f in one.findings if f.state in ("stop", "decide")} for one in (now, choice))
    return tuple(sorted(before - after)), tuple(sorted(after - before))


def key_of(finding: Finding) -> Key:
    """What tells a finding from others, whatever its figures are."""
    return (finding.rule, finding.part, finding.where, finding.state)


def _counted_rules(keys: Sequence[Key]) -> str:
    parts: dict[str, list[str]] = {}
    for rule, part, _, _ in keys:
        parts.setdefault(rule, []).append(part)
    return ", ".join(f"{rule} on {counted(len(set(some)), 'part')}" for rule, some in sorted(parts.items()))


def price(choice: Choice) -> dict[str, list[str]]:
    """What the bars cost, by part: flats too short, heads too near the curve, what the brake then cannot do."""
    found: dict[str, list[str]] = {}
    for finding in choice.findings:
        if finding.state not in ("stop", "decide"):
            continue
        what = PRICED.get(finding.rule)
        if what and finding.part not in found.setdefault(what, []):
            found[what].append(finding.part)
    return found
