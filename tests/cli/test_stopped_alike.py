"""What is stopped is nowhere: every command has the same list, over random jobs."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from random_jobs import random_job

from flatgen.cli import flatgen


def run(*words: object) -> tuple[int, str]:
    found = CliRunner().invoke(flatgen, [str(word) for word in words])
    assert found.exit_code in (0, 1, 3), found.output
    return found.exit_code, found.stdout


def check_one(seed: int, folder: Path) -> int:
    """Hold all commands against one another on one job; how many of its parts are stopped."""
    job, out = random_job(seed, folder), folder / "out"
    status, text = run("make", job, "--out", out, "--json")
    made = json.loads(text)
    stopped = {part["id"] for part in made["parts"] if part["stopped"]}
    forbidden = {f["part"] for f in made["findings"] if f["severity"] == "forbid" and f["rule"] != "no-stock"}
    lacking = {f["part"] for f in made["findings"] if f["rule"] == "no-stock"}
    ids = {part["id"] for part in made["parts"]}
    assert forbidden == stopped and status == (3 if stopped else int(bool(lacking)))
    nested = [place["part"] for nest in made["nests"] for place in nest["placements"]]
    bent = {op["part"] for setup in made["setups"] for op in setup["operations"]}
    assert not stopped & ({*nested} | bent) and ids - stopped - lacking <= {*nested}
    wanted = sum(part["pieces"] for part in made["parts"])
    assert (len(nested), wanted - len(nested)) == (made["totals"]["pieces"], made["totals"]["not_nested"])
    cut = {path.name.removesuffix(".dxf") for path in (out / "blanks").glob("*.dxf")}
    assert not stopped & cut and all(f"P{k}" not in cut or f"P{k}" not in stopped for k in range(3))

    parts = {name for name in ids if name.startswith("P")}
    status, text = run("setup", job, "--out", folder / "setup.pdf", "--json")
    setups = json.loads(text)["setups"]
    assert setups == made["setups"] and (status == 3) == bool(stopped)
    status, text = run("blank", job, "--out", folder / "blanks", "--format", "machine", "--json")
    files = {one["id"]: one["files"] for one in json.loads(text)}
    assert {name for name in files if not files[name]} == stopped & parts and (status == 3) == bool(stopped)
    status, text = run("template", job, "--out", folder / "t.pdf", "--json")
    assert {*json.loads(text)["stopped"]} == stopped and (status == 3) == bool(stopped)
    assert (folder / "t.pdf").is_file() == bool(parts - stopped)
    status, text = run("nest", job, "--json")
    alone = json.loads(text)
    assert alone["nests"] == made["nests"] and alone["totals"] == made["totals"] and (status == 3) == bool(stopped)
    return len(stopped)


def test_commands_agree_on_a_few_random_jobs(tmp_path: Path) -> None:
    # of seed 5 the brake would make the channel that a rule stops
    stopped = [check_one(seed, tmp_path / str(seed)) for seed in (3, 5, 18, 20)]
    assert any(stopped) and not all(stopped)


@pytest.mark.deep
@pytest.mark.parametrize("start", range(0, 300, 20))
def test_commands_agree_on_what_is_stopped(start: int, tmp_path: Path) -> None:
    assert sum(check_one(seed, tmp_path / str(seed)) for seed in range(start, start + 20))
