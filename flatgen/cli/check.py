"""flatgen check: findings only."""

from pathlib import Path

import click

from flatgen.cli.options import JOB, json_option
from flatgen.cli.say import as_json, guarded
from flatgen.core.words import counted


@click.command("check")
@JOB
@json_option("the findings")
@guarded
def command(job: Path, json_wanted: bool) -> None:
    """Check every part of JOB against the trade's rules and the brake; exit status 3 when a finding forbids going on.

    \b
    Example:
      flatgen check examples/float-fittings/job.toml

    The rules are the trade's, not the designer's: a part without findings is not thereby strong enough.
    """
    from flatgen.checks.letters import letters_findings
    from flatgen.checks.stock import stock_findings
    from flatgen.cli.progress import progress
    from flatgen.cli.summary import print_findings
    from flatgen.jobs.developed import developed
    from flatgen.jobs.loading import load
    from flatgen.page.findings import doubts
    from flatgen.write.results_json import finding_dict

    with progress(json_wanted) as track:
        whole = load(job)
        parts, _ = developed(whole, track)
    findings = tuple(finding for made in parts for finding in made.findings)
    findings += (*stock_findings(whole), *letters_findings(whole))
    if json_wanted:
        as_json([finding_dict(finding, whole.units) for finding in findings])
    else:
        print_findings(findings, whole.units)
        coupons = sum(made.part.kind == "coupon" for made in parts)
        also = f" and {counted(coupons, 'coupon')}" if coupons else ""
        click.echo(f"{counted(len(parts) - coupons, 'part')}{also} checked; doubtful: {doubts(findings, whole.units)}")
    if any(finding.stops for finding in findings):
        raise SystemExit(3)
