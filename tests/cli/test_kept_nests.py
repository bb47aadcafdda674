"""Nests kept by command: a reprint moves nothing, what changed is nested anew and said, Ctrl-C keeps the best."""

import json
import os
import pty
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from small_shop import BENCH, ROUTER

import flatgen.nest
from flatgen.cli import flatgen as program

ROOT = Path(__file__).resolve().parent.parent.parent
SHOP = f"""{BENCH}{ROUTER}[[sheet]]
id = "A"
material = "2024-T3"
thickness = "0.032 in"
length = 48
width = 24
cost = 61
[[sheet]]
id = "B"
material = "2024-T3"
thickness = "0.040 in"
length = 48
width = 24
"""
PART = """
[[part]]
id = "{0}"
profile = "angle"
quantity = {1}
material = "2024-T3"
thickness = "{2} in"
radius = "1/8 in"
leg_a = 1.0
leg_b = 0.75
length = 3.0
tool = "{3}"
"""
NAMES = [("C-1", 9, "0.032", "shear"), ("C-2", 5, "0.040", "router")]


def text(first: int = 9) -> str:
    parts = [NAMES[0][:1] + (first,) + NAMES[0][2:], NAMES[1]]
    return 'title = "Clips"\ncoupons = false\n' + "".join(PART.format(*part) for part in parts)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    (tmp_path / "shop.toml").write_text(SHOP, encoding="utf-8")
    path = tmp_path / "job.toml"
    path.write_text(text(), encoding="utf-8")
    return path


def run(*words: object, ok: tuple[int, ...] = (0,)) -> Result:
    result = CliRunner().invoke(program, [str(word) for word in words])
    assert result.exit_code in ok, result.output
    assert "Traceback" not in result.output
    return result


def nests(job: Path) -> dict[str, dict]:
    """By thickness, from what nest prints as JSON."""
    found = json.loads(run("nest", job, "--json").stdout)
    return {f"{nest['thickness']:.2f}": nest for nest in found["nests"]}


def test_kept_nests_are_not_made_again(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """make takes every group from the lock: the nester is not even called, and placements are the same."""
    before = nests(job)
    said = run("nest", job, "--keep")
    lock = job.with_name("nest.lock")
    assert lock.is_file() and "nest.lock: these nests are kept" in said.output
    assert {job, lock, job.with_name("shop.toml")} == set(job.parent.iterdir())

    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("nested again")

    monkeypatch.setattr(flatgen.nest, "nest_pieces", refuse)
    said = run("make", job, "--out", job.parent / "out")
    assert "all nests: nests as kept in nest.lock" in said.output
    results = json.loads((job.parent / "out" / "results.json").read_text(encoding="utf-8"))
    assert [True, True] == [nest["kept"] for nest in results["nests"]]
    assert [True, True] == [report["kept"] for report in results["nest_reports"]]
    assert [n | {"kept": True} for n in before.values()] == results["nests"]
    assert "as kept in nest.lock" in (job.parent / "out" / "index.html").read_text(encoding="utf-8")


def test_what_changed_is_nested_anew_and_said(job: Path) -> None:
    """One alloy's pieces changed: its nest is new, with a sentence; the other group's is kept."""
    run("nest", job, "--keep")
    job.write_text(text(first=11), encoding="utf-8")
    said = run("nest", job).stdout
    assert 1 == said.count("nested anew, since nest.lock keeps none for these pieces, tool and sheets")
    assert 1 == said.count("nests as kept in nest.lock")
    found = nests(job)
    assert not found["0.81"]["kept"] and 11 == len(found["0.81"]["placements"])
    assert found["1.02"]["kept"]
    # keeping again takes the place of the old: the old question is forgotten
    run("nest", job, "--keep")
    assert all(nest["kept"] for nest in nests(job).values())
    job.write_text(text(), encoding="utf-8")
    assert not nests(job)["0.81"]["kept"]


def test_sheets_and_tool_are_part_of_the_question(job: Path) -> None:
    run("nest", job, "--keep")
    shop = job.with_name("shop.toml")
    shop.write_text(SHOP.replace('"0.25 in"', '"0.3 in"'), encoding="utf-8")
    assert [True, False] == [nests(job)[key]["kept"] for key in ("0.81", "1.02")]
    shop.write_text(SHOP.replace('thickness = "0.032 in"\nlength = 48', 'thickness = "0.032 in"\nlength = 47'))
    assert [False, True] == [nests(job)[key]["kept"] for key in ("0.81", "1.02")]


def test_letting_go(job: Path) -> None:
    """The file goes; a second time there is nothing to let go; both at once is refused."""
    run("nest", job, "--keep")
    assert "let go" in run("nest", job, "--let-go").output
    assert not job.with_name("nest.lock").exists()
    assert "no nests are kept here" in run("nest", job, "--let-go").output
    assert "opposite" in run("nest", job, "--keep", "--let-go", ok=(2,)).output


def test_two_jobs_in_one_folder_do_not_disturb_each_other(job: Path) -> None:
    other = job.with_name("other.toml")
    other.write_text(text(first=4), encoding="utf-8")
    run("nest", job, "--keep")
    assert "anew" not in run("nest", other).output
    run("nest", other, "--keep")
    run("nest", job, "--let-go")
    assert all(nest["kept"] for nest in nests(other).values())
    assert not any(nest["kept"] for nest in nests(job).values())


@pytest.mark.parametrize("harm", ["cut off", "moved", "not JSON"])
def test_a_damaged_lock_is_an_input_error(job: Path, harm: str) -> None:
    """Half a file, one figure changed by hand, something else: one sentence, status 2, no packet; letting go mends."""
    run("nest", job, "--keep")
    lock = job.with_name("nest.lock")
    content = lock.read_text(encoding="utf-8")
    moved = re.sub(r'"x": [0-9.]+', '"x": 1.25', content, count=1)
    lock.write_text({"cut off": content[:-200], "moved": moved, "not JSON": "nests"}[harm], encoding="utf-8")
    for words in (("nest", job), ("make", job, "--out", job.parent / "out"), ("nest", job, "--keep")):
        said = run(*words, ok=(2,)).output
        assert "nest.lock" in said and "--let-go" in said
    assert not (job.parent / "out").exists()
    run("nest", job, "--let-go")
    assert not lock.exists()


def test_report_of_a_nest(job: Path) -> None:
    """Shares add up to the whole; the bound is below the cost; without a price there is none, but a share."""
    found = json.loads(run("nest", job, "--json").stdout)
    sheared, routed = found["nest_reports"]
    for report in (sheared, routed):
        assert 1.0 == pytest.approx(report["utilisation"] + sum(report["waste"].values()))
        assert {"margin", "kerf", "gap", "offcuts", "scrap"} == set(report["waste"])
        assert 0.0 < report["least_share"] <= 1.0
    assert 61.0 == sheared["cost"] and 0.0 < sheared["area_bound"] <= sheared["bound"] <= 61.0
    assert routed["cost"] is None and routed["bound"] is None
    assert {"A": 1} == sheared["to_buy"] and {"B": 1} == routed["to_buy"]
    said = run("nest", job).stdout
    for words in ("Used: ", "The rest: margin", "any nest costs", "To buy: 1 of A"):
        assert words in said


def typed(words: list[str], after: str, folder: Path) -> tuple[int, str, float]:
    """A command on a terminal; Ctrl-C once ``after`` is seen. Status, what was seen, seconds from then to the end."""
    own, other = pty.openpty()
    env = os.environ | {"PYTHONPATH": str(ROOT), "TERM": "xterm", "COLUMNS": "100"}
    seen, asked = "", 0.0
    command = [sys.executable, "-m", "flatgen", *words]
    with subprocess.Popen(command, stdin=other, stdout=other, stderr=other, env=env, cwd=folder) as going:
        os.close(other)
        for piece in _read(own):
            seen += piece
            if not asked and after in seen:
                asked = time.monotonic()
                going.send_signal(signal.SIGINT)
        status = going.wait(60)
    os.close(own)
    assert asked, seen
    return status, re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", seen), time.monotonic() - asked


def _read(own: int) -> Iterator[str]:
    while True:
        try:
            piece = os.read(own, 65536)
        except OSError:
            return
        if not piece:
            return
        yield piece.decode("utf-8", "replace")


@pytest.mark.slow
@pytest.mark.parametrize("at", ["searching, nest 1 of 2, %", "searching, nest 2 of 2, %"])
def test_ctrl_c_in_a_search_goes_on_to_the_packet(job: Path, at: str) -> None:
    """The bar shows the share; the packet of the best nest so far is written, long before the time asked for."""
    seconds = "600" if "1 of" in at else "6"
    status, seen, took = typed(["make", str(job), "--out", "out", "--effort", seconds], at, job.parent)
    assert 0 == status and "Traceback" not in seen
    assert "ended early" in seen and "/100" in seen
    assert took < 60
    results = json.loads((job.parent / "out" / "results.json").read_text(encoding="utf-8"))
    assert 14 == sum(len(nest["placements"]) for nest in results["nests"])
