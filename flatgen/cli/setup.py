"""flatgen setup: brake settings only."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from flatgen.cli.options import FILE, IN_MM
from flatgen.cli.say import as_json, guarded, table
from flatgen.core.words import counted

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from flatgen.jobs.processes import Way
    from flatgen.jobs.setups import Made
    from flatgen.model.part import Part


@click.command("setup")
@click.argument("job", type=click.Path(path_type=Path))
@click.argument("parts", nargs=-1, metavar="[PART…]")
@click.option("--out", type=FILE, help="File; setup.pdf by default.")
@click.option(
    "--ways", "ways_wanted", is_flag=True, help="Compare the ways to make each family of parts; draw nothing."
)
@click.option("--units", type=IN_MM, help="Units of the numbers; the job's by default.")
@click.option("--json", "json_wanted", is_flag=True, help="Print the settings as in results.json.")
@guarded
def command(
    job: Path, parts: tuple[str, ...], out: Path | None, ways_wanted: bool, units: str | None, json_wanted: bool
) -> None:
    """Brake settings of JOB in an order that changes little, at most a page each: all, or those of the parts named.

    \b
    Example:
      flatgen setup examples/float-fittings/job.toml --out out/setup.pdf

    Each setting gives nose bar, set-back, leaf and stop, shows how the blank lies, says what the first piece must
    measure and what to do when it does not; parts that are named come out as in the packet of the whole job. Bend a
    test strip first where it says so; keep hands clear of leaf and clamp; wear eye protection. A part with a finding
    that forbids going on, or that this brake cannot make, is left out; the exit status is then 3. --ways compares one
    by one, side by side, bent long then sawn, bent wide then ripped, and says why one cannot be; process = "…" of a
    part, or of the job for all, decides.
    """
    if ways_wanted:
        _ways(job, parts, units, json_wanted=json_wanted)
        return
    from typing import cast

    from flatgen.core.words import Units
    from flatgen.jobs.setups import make_setups

    made = make_setups(job, parts, out or Path("setup.pdf"), cast("Units | None", units))
    if json_wanted:
        from flatgen.write.results_json import as_dict

        whole = as_dict(made.results)
        as_json({"setups": whole["setups"], "figures": whole["totals"]["brake"], "findings": whole["findings"]})
    else:
        _print(made)
    if made.results.stopped:
        raise SystemExit(3)


def _print(made: "Made") -> None:
    from flatgen.cli.summary import print_findings
    from flatgen.model.handling import CLOSED
    from flatgen.units import format_angle, format_length

    results = made.results
    rows = []
    for setup in results.setups:
        bends = "; ".join(dict.fromkeys(f"{op.part} {op.bend}" for op in setup.operations))
        stop = "by mark" if setup.stop_side == "sight" else format_length(setup.stop_shown, results.job.units)
        side = "" if setup.stop_side == "sight" else setup.stop_side
        stands = (setup.nose, format_length(setup.bare_setback, results.job.units), format_angle(setup.overbend_to))
        if setup.stop_side == "squeeze":  # nothing is set on the brake
            stop = "flat" if setup.stop < CLOSED else f"over {format_length(setup.stop, results.job.units)}"
            stands = ("", "", "")
        rows.append((str(setup.number), stop, side, *stands, str(setup.pieces), bends))
    if rows:
        unit = results.job.units
        where = "" if results.setups[0].stop_read_from == "bed" else " from nose tip"
        heads = ("", f"stop{where}, {unit}", "", "nose", f"set-back, {unit}", "leaf", "pieces", "bends")
        click.echo(table(rows, heads, right=(0, 1, 4, 5, 6)))
    plan = results.plan
    if made.alone:
        click.echo("Planned by themselves, since the rest of the job cannot be developed: the packet may differ")
    if plan is not None and len(rows) < plan.planned.settings:
        click.echo(f"{len(rows)} of the whole job's {counted(plan.planned.settings, 'setting')}, as in the packet")
    elif plan is not None and rows:
        planned, plain = plan.planned, plan.plain
        click.echo(
            f"{counted(planned.settings, 'setting')}, a nose bar fitted {counted(planned.noses, 'time')}; part by part"
            f" {plain.settings} and {plain.noses}"
        )
    print_findings(results.findings, results.job.units, notes=False)
    if made.file is not None:
        click.echo(f"{made.file}: print it and hang it at the brake")
    else:
        click.echo("Nothing to bend: no sheet written")


def _ways(path: Path, names: tuple[str, ...], units: str | None, *, json_wanted: bool) -> None:
    """Each family with its ways: clampings, minutes, metal, accuracy; the quickest that holds is marked."""
    from dataclasses import asdict

    from flatgen.jobs.developed import chosen
    from flatgen.jobs.loading import load
    from flatgen.jobs.processes import SOURCES, families, proposed, reasons, ways, without_section

    job = chosen(load(path, whole=True), names)
    found = [
        ([one.part for one in family.members], ways(job, family), reasons(job, family)) for family in families(job)
    ]
    found += [([part], some, {"long, wide": why}) for part, some, why in without_section(job)]
    if json_wanted:
        as_json(
            [
                {
                    "parts": [part.id for part in parts],
                    "proposed": proposed(some).process,
                    "ways": [asdict(way) for way in some],
                    "not_possible": why,
                }
                for parts, some, why in found
            ]
        )
        return
    unit = units or job.units
    rows = [row for parts, some, why in found for row in _rows_of(parts, some, why, unit)]
    heads = ("parts", "way", "", "clampings", "min", f"metal, {'in²' if unit == 'in' else 'cm²'}", "grain", "accuracy")
    click.echo(table(rows, heads, right=(3, 4, 5)) if rows else "No part of this job is bent.")
    click.echo(f'Write process = "…" at a part, or at the head of the job for all, to decide. {SOURCES}.')


def _rows_of(
    parts: "Sequence[Part]", found: "Sequence[Way]", why_not: "Mapping[str, str]", unit: str
) -> "Iterator[tuple[str, ...]]":
    """The rows of one family: each way, the present and the proposed one marked, then what cannot be and why."""
    from flatgen.jobs.processes import proposed
    from flatgen.units import format_length

    area, best = 645.16 if unit == "in" else 100.0, proposed(found)
    for way in found:
        long = f", {way.count} of {format_length(way.lengths[0], unit)}" if way.lengths else ""
        now = {part.process for part in parts} == {way.process}
        yield (
            ", ".join(part.id for part in parts) if way is found[0] else "",
            f"{way.process}{long}{' (as now)' if now else ''}",
            "proposed" if way is best else "" if way.holds else "does not hold",
            str(way.clampings),
            f"{way.minutes:.0f}",
            f"{way.metal / area:.0f}",
            way.grain,
            way.accuracy,
        )
    for way_name, why in why_not.items():
        yield ("", way_name, "not possible", "-", "-", "-", "-", why)
