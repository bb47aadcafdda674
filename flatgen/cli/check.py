"""flatgen check: findings only."""

from pathlib import Path

import click

from flatgen.cli.say import as_json, guarded


@click.command("check")
@click.argument("job", type=click.Path(path_type=Path))
@click.option("--json", "json_wanted", is_flag=True, help="Print the findings as JSON.")
@guarded
def command(job: Path, json_wanted: bool) -> None:
    """Check every part of JOB against the trade's rules; exit status 3 when a finding forbids going on.

    \b
    Example:
      flatgen check examples/float-fittings/job.toml

    The rules are the trade's, not the designer's: a part without findings is not thereby strong enough.
    """
    from flatgen.cli.summary import print_findings
    from flatgen.make import develop_all, load
    from flatgen.write.results_json import finding_dict

    findings = tuple(finding for made in develop_all(load(job)) for finding in made.findings)
    if json_wanted:
        as_json([finding_dict(finding) for finding in findings])
    else:
        print_findings(findings)
        if not findings:
            click.echo("no findings")
    if any(finding.stops for finding in findings):
        raise SystemExit(3)
