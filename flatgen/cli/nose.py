"""flatgen nose: which nose bars would do for a job and what each choice costs; draw one of them."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from flatgen.cli.options import INTO, JOB, UNITS
from flatgen.cli.say import as_json, folded, guarded, table
from flatgen.cli.shop_book import FILE

if TYPE_CHECKING:
    from flatgen.core.words import Units
    from flatgen.jobs.nose_plan import NosePlan
    from flatgen.model.nose import Choice

SHOWN = 8


@click.group("nose")
def command() -> None:
    """Nose bars: which would do for a job and what each choice costs; a working drawing of one.

    \b
    Example:
      flatgen nose plan examples/first-clips/job.toml

    Bend test strips over a new bar before any part. Keep hands clear of leaf and clamp; wear eye protection.
    """


@command.command("plan")
@JOB
@click.option("--take", type=int, help="Write the choice of this number into the shop file; its comments stay.")
@click.option("--all", "every", is_flag=True, help=f"List every choice, not only the first {SHOWN}.")
@UNITS
@click.option("--json", "json_wanted", is_flag=True, help="Print as JSON.")
@guarded
def plan(job: Path, take: int | None, every: bool, units: "Units | None", json_wanted: bool) -> None:
    """Rank every choice of one, two or three bars: on hand, round rods, bars to make, wraps of sheet.

    \b
    Example:
      flatgen nose plan examples/first-clips/job.toml

    The least costly comes first: pieces that can't be made, then minutes for making bars, test strips, decisions and
    changes ([minutes] of the shop file). Every bend is simulated over the bars, as in flatgen check.
    """
    from flatgen.cli.progress import progress
    from flatgen.jobs.loading import load
    from flatgen.jobs.nose_plan import Planner

    whole = load(job)
    with progress(json_wanted) as track:
        found = Planner(whole).plan(track, None if every else max(SHOWN, take or 0))
    if take is not None:
        from flatgen.jobs import nose_bar

        for text in nose_bar.take(whole, found, take):
            click.echo(text)
    elif json_wanted:
        as_json({"now": _as_dict(found.now), "choices": [_as_dict(one) for one in found.choices]})
    else:
        _print(found, units or whole.units)


def _as_dict(choice: "Choice") -> dict[str, object]:
    from flatgen.jobs.nose_words import price

    return {
        "bars": [{"name": bar.name, "made": bar.made, "radius": bar.radius, "wrap": bar.wrap} for bar in choice.bars],
        "tables": {table: {"met": met, "of": of} for table, met, of in choice.met},
        "bends": {"proved": choice.proved, "to_prove": choice.unproved, "below_every_table": choice.below},
        "stopped": choice.stopped,
        "decisions": choice.decisions,
        "coupons": choice.coupons,
        "bars_used": choice.changes,
        "pull": choice.pull,
        "setback": choice.setback,
        "price": price(choice),
        "minutes": dict(choice.costs),
    }


def _print(found: "NosePlan", units: "Units") -> None:
    from flatgen.jobs import nose_words as words

    click.echo("What the metals ask for: inside radii on the drawings, and least by each table")
    rows, heads = words.asked_rows(found.asked, units)
    click.echo(table(rows, heads, right=tuple(range(1, len(heads)))))
    click.echo("")
    shown = found.choices
    click.echo(f"{found.total} choices; the least costly {len(shown)}, then the bars in use now")
    rows = [words.row(str(k), one, units) for k, one in enumerate(shown, 1)] + [words.row("now", found.now, units)]
    click.echo(table(rows, words.heads(found), right=(0, *range(2, len(rows[0])))))
    for number, one in enumerate(shown, 1):
        import sys

        click.echo(folded(words.reason(one, found), sys.stdout, f"{number}: "))
    click.echo("Take one with --take N, then draw it: flatgen nose draw SHOP NAME")


@command.command("draw")
@click.argument("shop", type=FILE)
@click.argument("name")
@click.option("--brake", default="", help="Name of the brake; the shop's first by default.")
@click.option("--wrap", default="", help="Draw this shoe or wrap over the bar, by its thickness.")
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), help="Folder; nose-NAME by default.")
@INTO
@UNITS
@guarded
def draw(shop: Path, name: str, brake: str, wrap: str, out: Path | None, into: bool, units: "Units | None") -> None:
    """Draw a nose bar of SHOP: section at true size, how to make it, contour template and radius gauges with DXF.

    \b
    Example:
      flatgen nose draw examples/first-clips/shop.toml "nose 1/8" --out out/nose
    """
    from flatgen.jobs.brake import bench
    from flatgen.jobs.nose_bar import draw as write
    from flatgen.units import parse_length

    at = bench(shop, brake, name)
    thick = parse_length(wrap, at.shop.units) if wrap else 0.0
    made = "wrap" if thick else "rod" if at.nose.name.startswith("rod ") else "machined"
    target = out or Path(f"nose-{''.join(c if c.isalnum() else '-' for c in name)}")
    files = write(at, thick, made, target, units or at.shop.units, into=into)
    click.echo(f"{target}: {', '.join(files)}; print the templates at actual size and measure the bars")
