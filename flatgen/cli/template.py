"""flatgen template: full-size paper templates."""

from dataclasses import dataclass
from pathlib import Path

import click

from flatgen.cli.options import FILE, IN_MM, ask, form
from flatgen.cli.say import as_json, guarded
from flatgen.core.words import counted


@dataclass(frozen=True, slots=True)
class Asked:
    """Of what templates are wanted, and how they are printed."""

    job: Path = ask(click.argument("job", type=click.Path(path_type=Path)))
    parts: tuple[str, ...] = ask(click.argument("parts", nargs=-1, metavar="[PART…]"))
    paper: str | None = ask(
        "--paper", help="a4, a3, letter, legal, tabloid, roll, …; the shop's printer paper by default."
    )
    out: Path | None = ask("--out", type=FILE, help="File; templates.pdf by default.")
    overlap: str = ask("--overlap", default="12 mm", show_default=True, help="Width that neighbouring tiles share.")
    mirror: bool = ask("--mirror", is_flag=True, help="For the lower side of the metal.")
    measured_x: str | None = ask(
        "--measured-x", help="What the bar along the short side of uncorrected paper measures; kept in shop.toml."
    )
    measured_y: str | None = ask("--measured-y", help="What the bar along its long side measures; kept in shop.toml.")
    units: str | None = ask("--units", type=IN_MM, help="Units of the numbers; the job's by default.")
    json_wanted: bool = ask("--json", is_flag=True, help="Print the list of pages as JSON.")


@click.command("template")
@form(Asked)
@guarded
def command(asked: Asked) -> None:
    """Full-size paper templates of all parts of JOB, or of those named, tiled where the paper is too small.

    \b
    Example:
      flatgen template examples/float-fittings/job.toml --paper letter --out out/templates.pdf

    Print at actual size, then measure the bars on each page with a steel rule before you use it. Where a bar is off,
    print a page with --measured-x "100 mm" --measured-y "100 mm", and give what its 100 mm bars (or, in inches, its
    4 in bars) measure: the pages after that are corrected. A part with a finding
    that forbids going on gets no template; the exit status is then 3.
    """
    from flatgen.jobs.loading import load
    from flatgen.jobs.make import inputs_of, planned
    from flatgen.jobs.templates import Printing, make_templates
    from flatgen.output.single import check_file

    whole, target = load(asked.job), asked.out or Path("templates.pdf")
    check_file(target, "pdf", "template", inputs_of(whole))
    measured = {"measured_x": asked.measured_x, "measured_y": asked.measured_y}
    how = Printing(asked.paper, asked.overlap, asked.mirror, measured, asked.units)
    made = make_templates(planned(whole, asked.parts), target, how)
    if asked.json_wanted:
        as_json(
            {"file": str(made.file) if made.file else None, "pages": list(made.pages), "stopped": list(made.stopped)}
        )
    elif made.file is None:
        click.echo("No part may be made: no file written")
    else:
        for k, page in enumerate(made.pages, 1):
            click.echo(f"page {k}: {page}")
        click.echo(f"{made.file}: {counted(len(made.pages), 'page')}; print at actual size and measure the bars")
    for part in made.stopped:
        click.echo(f"{part}: stopped by a finding, no template (flatgen check says which)", err=True)
    if made.stopped:
        raise SystemExit(3)
