"""flatgen profiles: the profile library."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from flatgen.cli.options import FILE, IN_MM, json_option
from flatgen.cli.say import as_json, guarded

if TYPE_CHECKING:
    from flatgen.library import Entry


@click.command("profiles")
@click.argument("name", required=False)
@click.option("--units", type=IN_MM, default="in", show_default=True, help="Units of the sizes.")
@click.option("--svg", type=FILE, help="Write a picture of blank and formed part: of NAME, or of all profiles.")
@json_option("the profiles and their parameters")
@guarded
def command(name: str | None, units: str, svg: Path | None, json_wanted: bool) -> None:
    """List the profiles, or show one with its parameters, its blank and a job entry to paste.

    \b
    Example:
      flatgen profiles channel

    Profiles in a folder "profiles" beside you come first. Sizes shown are samples: the drawing decides.
    """
    from flatgen import library

    here = Path()
    found = library.entries(here) if name is None else (library.entry(name, here),)
    if svg is not None:
        from flatgen.output.single import written_file
        from flatgen.write.svg import write

        read = [file for one in found for file in (one.profile.file.path, *one.profile.outlines)]
        picture = library.sheet(units, here) if name is None else library.picture(found[0], units)
        with written_file(svg, "svg", "profiles", read) as path:
            write(picture, path)
    if json_wanted:
        as_json([_as_dict(one, units) for one in found] if name is None else _as_dict(found[0], units))
    elif name is None:
        _print_list(found)
    else:
        _print_one(found[0], units)


def _print_list(found: "Sequence[Entry]") -> None:
    from flatgen.cli.say import table

    click.echo(table([(one.name, one.summary or one.title) for one in found], ("profile", "what it is")))
    click.echo(f'{len(found)} profiles; "flatgen profiles NAME" shows one with its parameters')


def _print_one(one: "Entry", units: str) -> None:
    import sys

    from flatgen import library
    from flatgen.cli.say import table

    click.echo(f"{one.title} ({one.name})")
    click.echo(one.summary)
    if one.wants:
        click.echo(f"It wants {one.wants}.")
    click.echo()
    rows = [
        (p.name, library.default_of(one, p, units) or "-", library.range_of(one, p, units), p.explain)
        for p in one.parameters
    ]
    click.echo(table(rows, ("parameter", "default", "allowed", "what it is")))
    click.echo()
    click.echo(library.faces_line(one, units))
    click.echo()
    plain = "utf" not in (sys.stdout.encoding or "").lower()
    click.echo(library.letters(one, units, plain))
    click.echo(library.size_line(library.sample_blank(one, units), units))
    click.echo()
    click.echo(library.job_entry(one, units))


def _as_dict(one: "Entry", units: str) -> dict[str, object]:
    from flatgen import library

    parameters = [
        {
            "name": p.name,
            "kind": p.kind,
            "default": library.default_of(one, p, units),
            "least": p.least,
            "most": p.most,
            "choices": list(p.choices),
            "explain": p.explain,
        }
        for p in one.parameters
    ]
    return {"name": one.name, "title": one.title, "summary": one.summary, "wants": one.wants, "parameters": parameters}
