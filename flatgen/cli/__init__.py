"""The command line: a file a command, loaded when it is called, so that help comes at once."""

import importlib

import click

from flatgen import __version__

# command -> (module under flatgen.cli, the line shown in the list)
COMMANDS: dict[str, tuple[str, str]] = {
    "new": ("new", "A commented starter job and shop file."),
    "bench": ("bench", "The bench page: the whole job in the browser of this machine."),
    "make": ("make", "The main job: develop, check, nest, draw, plan the brake, write the packet."),
    "blank": ("blank", "Develop one or several parts and draw their blanks only."),
    "check": ("check", "Trade-rule findings only; the exit status tells whether any forbids going on."),
    "nest": ("nest", "Nests only."),
    "setup": ("setup", "Brake settings only."),
    "template": ("template", "Full-size paper templates, tiled on the printer's paper."),
    "bend": ("bend", "The bend calculator: one bend, every method side by side."),
    "coupon": ("coupon", "Plan test bends, record their measurements, show the shop's own deductions."),
    "inspect": ("inspect", "Inspection sheets, recording of measured pieces, drift and capability."),
    "brake": ("brake", "Survey of a brake, its answers, what it bends."),
    "nose": ("nose", "Which nose bars would do for a job and what each choice costs; draw one of them."),
    "tally": ("tally", "How far a job is: cut, drilled, bent, good, rejected, left; enter it."),
    "stock": ("stock", "Sheets and remnants on hand; book what a nest used and left; job log, copies, check, export."),
    "profiles": ("profiles", "The profile library: list it, or show one with its parameters."),
}


class LazyGroup(click.Group):
    """Commands by name; a command's module is imported only when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order of a job."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import the command's module and return its command."""
        if cmd_name not in COMMANDS:
            return None
        command = importlib.import_module(f"flatgen.cli.{COMMANDS[cmd_name][0]}").command
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List commands with their lines without importing any."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Refuse an unknown command with the nearest known one."""
        from flatgen.errors import nearest

        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            ctx.fail(f'There is no command "{args[0]}". {nearest(args[0], COMMANDS)}')
        return super().resolve_command(ctx, args)


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="flatgen")
def flatgen() -> None:
    """Flat patterns for folded sheet-metal fittings, from a parts list to the bench.

    \b
    Example:
      flatgen make examples/float-fittings/job.toml --out out/float-fittings

    Geometry only: flatgen does not say that a part is strong enough. The drawing, the designer and the inspector
    decide. Test-bend first; keep hands clear of leaf and shear; wear eye protection.

    Exit status: 0 done; 1 could not (cannot write, no stock, interrupted); 2 wrong use or bad input; 3 a finding
    forbids going on. NO_COLOR=1 turns colours off.

    \b
    Names that complete with the Tab key (bash; zsh and fish alike):
      eval "$(_FLATGEN_COMPLETE=bash_source flatgen)"
    """
