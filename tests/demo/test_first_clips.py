"""The job that a newcomer makes first: one metal, one bar, about 60 pieces, and nothing to decide."""

from pathlib import Path

from flatgen.jobs.loading import load
from flatgen.jobs.make import compute


def test_first_job_has_nothing_to_decide(root: Path) -> None:
    results = compute(load(root / "examples" / "first-clips" / "job.toml"))
    assert () == tuple(f for f in results.findings if f.severity != "note")
    parts = [made.part for made in results.parts if made.part.kind == "part"]
    assert 6 == len(parts) and 1 == len({(part.material.key, part.nominal) for part in parts})
    assert 55 <= sum(part.quantity for part in parts) <= 65
    assert {"nose 1/8"} == {setup.bar for setup in results.setups}
