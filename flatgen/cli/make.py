"""flatgen make: the main job."""

from dataclasses import dataclass
from pathlib import Path

import click

from flatgen.cli.options import EFFORT, FOLDER, INTO, JOB, QUIET, UNITS, ask, form, json_option
from flatgen.cli.say import guarded
from flatgen.core.words import Units


@dataclass(frozen=True, slots=True)
class Asked:
    """How the job is to be made."""

    job: Path = ask(JOB)
    parts: tuple[str, ...] = ask(click.argument("parts", nargs=-1))
    out: Path | None = ask("--out", type=FOLDER, help="Folder for the packet; out/ by default.")
    into: bool = ask(INTO)
    effort: float | None = ask(EFFORT)
    units: Units | None = ask(UNITS)
    whole: bool = ask("--all", is_flag=True, help="Plan the whole job, as if nothing had been made of it yet.")
    watch: bool = ask("--watch", is_flag=True, help="Make again whenever a file of the job is saved, until Ctrl-C.")
    json_wanted: bool = ask(json_option("results.json"))
    quiet: bool = ask(QUIET)


@click.command("make")
@form(Asked)
@guarded
def command(asked: Asked) -> None:
    """Develop, check, nest and draw what is left of JOB or of some PARTS, plan the brake, and write the packet.

    \b
    Example:
      flatgen make examples/float-fittings/job.toml --out out/float-fittings

    What is left is what the tally says (flatgen tally). A part with a finding that forbids going on gets no cutting
    drawing; the exit status is then 3. A run that fails or is interrupted leaves the packet that was there before.
    Files of yours in the folder stay.
    Test-bend first; keep hands clear of leaf and shear; wear eye protection.
    """
    folder = asked.out or Path("out")

    def once() -> int:
        return _make(asked, folder)

    if asked.watch:
        from flatgen.cli.watch import again_and_again

        again_and_again(asked.job, folder, once)
    elif status := once():
        raise SystemExit(status)


def _make(asked: Asked, folder: Path) -> int:
    """Make once and say what was made; the exit status."""
    from flatgen.cli.progress import progress
    from flatgen.cli.summary import print_changes, print_summary
    from flatgen.jobs.again import make_again
    from flatgen.jobs.make import How

    with progress(asked.quiet or asked.json_wanted) as track:
        how = How(asked.effort, asked.units, asked.whole, asked.parts, asked.into)
        made = make_again(asked.job, folder, how, track)
    if asked.json_wanted:
        click.echo((folder / "results.json").read_text(encoding="utf-8"), nl=False)
    elif made.changes is not None and not asked.quiet:
        print_changes(made, folder)
    elif made.results is not None and not asked.quiet:
        print_summary(made.results, folder)
    return made.status
