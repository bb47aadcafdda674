"""flatgen blank: blanks of one or several parts."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from flatgen.cli.options import FILE, FOLDER, IN_MM, INTO, QUIET, ask, form, json_option
from flatgen.cli.say import as_json, guarded
from flatgen.core.words import Units

if TYPE_CHECKING:
    from flatgen.jobs.blanks import Drawn


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be drawn, and how."""

    what: str = ask(click.argument("what", metavar="JOB_OR_PROFILE"))
    parts: tuple[str, ...] = ask(click.argument("parts", nargs=-1, metavar="[PART…]"))
    given: tuple[str, ...] = ask(
        "--set", multiple=True, metavar="NAME=VALUE", help="A size or key of the part of a profile."
    )
    shop: Path | None = ask("--shop", type=FILE, help="Shop file for the part of a profile.")
    out: Path | None = ask("--out", type=FOLDER, help="Folder for the drawings; blanks by default.")
    into: bool = ask(INTO)
    formats: tuple[str, ...] = ask(
        "--format",
        multiple=True,
        type=click.Choice(["dxf", "svg", "pdf", "reading", "machine", "machine-r12", "router"]),
        help="dxf and svg if none; pdf: the dimensioned drawing, reading: the same as a DXF; machine: a DXF as the"
        " part's tool wants it, with a letter; router: path of the bit.",
    )
    bit: str | None = ask(
        "--bit", help="Diameter of the router bit, with --format router; that of the part's tool by default."
    )
    solid: str | None = ask("--solid", type=click.Choice(["stl", "glb"]), help="Write the formed part as a solid too.")
    units: Units | None = ask("--units", type=IN_MM, help="Units of the answer; the job's by default.")
    json_wanted: bool = ask(json_option("the blanks"))
    quiet: bool = ask(QUIET)


@click.command("blank")
@form(Asked)
@guarded
def command(asked: Asked) -> None:
    """Develop parts of a job, or one part of a profile, and draw their blanks at true size.

    \b
    Example:
      flatgen blank channel --set length="6 in" --set thickness="0.040 in" --out out/blanks

    A part with a finding that forbids going on gets no drawing; the exit status is then 3. Geometry only: the drawing
    and the designer decide. Test-bend first.
    """
    from flatgen.jobs.blanks import make_blanks, planned_parts
    from flatgen.output.folder import check_folder

    target = asked.out or Path("blanks")
    check_folder(target, into=asked.into)
    results = planned_parts(asked.what, asked.parts, _pairs(asked.given), asked.units, asked.shop)
    drawn = make_blanks(
        results, target, asked.formats or ("dxf", "svg"), asked.solid or "", _bit(asked.bit), into=asked.into
    )
    if asked.json_wanted:
        from flatgen.write.results_json import part_dict

        as_json(
            [
                {
                    **part_dict(one.made, results.legs(one.made.part.id)),
                    "files": [str(path) for path in one.files],
                }
                for one in drawn
            ]
        )
    elif not asked.quiet:
        _print(drawn)
    if any(one.made.stopped for one in drawn):
        raise SystemExit(3)


def _bit(text: str | None) -> float:
    """Diameter of the bit [mm], 0 where none is given."""
    from flatgen.errors import InputError
    from flatgen.units import parse_length

    if text is None:
        return 0.0
    size = parse_length(text, "in")
    if not 0.0 < size <= 50.0:
        raise InputError(f'"{text}" is no diameter of a router bit', where="--bit")
    return size


def _pairs(given: tuple[str, ...]) -> dict[str, str]:
    """NAME=VALUE options by name."""
    from flatgen.errors import InputError

    pairs = {}
    for text in given:
        name, mark, value = text.partition("=")
        if not mark or not name.strip():
            raise InputError(f'"{text}" is not written NAME=VALUE', where="--set")
        pairs[name.strip()] = value.strip()
    return pairs


def _print(drawn: "tuple[Drawn, ...]") -> None:
    """A row a part, then what is doubtful, then the files."""
    from flatgen.cli.say import table
    from flatgen.cli.summary import print_findings
    from flatgen.units import format_length

    rows = []
    for one in drawn:
        blank = one.made.blank
        size = f"{format_length(blank.width, one.units)} x {format_length(blank.height, one.units)}"
        state = "STOP" if one.made.stopped else ""
        rows.append((one.made.part.id, size, str(len(blank.bends)), f"{blank.mass:.1f}", state))
    click.echo(table(rows, ("part", f"blank, {drawn[0].units}", "bends", "mass, g", ""), right=(2, 3)))
    print_findings(tuple(finding for one in drawn for finding in one.made.findings), drawn[0].units)
    for one in drawn:
        for path in one.files:
            click.echo(str(path))
