"""What the commands print where: for a person, into a pipe; status, progress, completion, Ctrl-C."""

import json
import os
import pty
import re
import select
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from small_shop import SHOP

ROOT = Path(__file__).resolve().parent.parent.parent
CHANNEL = ROOT / "examples" / "handbook-channel" / "job.toml"
CLEAN = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "TERM", "COLUMNS", "FORCE_COLOR")}
ENVIRONMENT = CLEAN | {"PYTHONPATH": str(ROOT), "TERM": "xterm", "COLUMNS": "80"}
ESCAPE = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")
# a job with a finding to decide on: 2024-T3 bent to three thicknesses
SHARP = """
title = "Clips of a very long title that says at length what they are for and where they go, so that it must be folded"
[[part]]
id = "CLIP-1"
title = "clip"
profile = "angle"
quantity = 2
material = "2024-T3"
thickness = "0.040 in"
radius = "1/8 in"
"""


def flatgen(*words: object, **more: str) -> subprocess.CompletedProcess[str]:
    """Run a command into pipes."""
    command = [sys.executable, "-m", "flatgen", *map(str, words)]
    kept = {"FLATGEN_KEPT": os.environ["FLATGEN_KEPT"]}  # of this run
    return subprocess.run(command, capture_output=True, text=True, env=ENVIRONMENT | kept | more, cwd=ROOT, timeout=120)


def on_a_terminal(*words: object, **more: str) -> str:
    """What a person would see: both streams on one terminal of 80 columns."""
    own, other = pty.openpty()
    command = [sys.executable, "-m", "flatgen", *map(str, words)]
    with subprocess.Popen(command, stdin=other, stdout=other, stderr=other, env=ENVIRONMENT | more, cwd=ROOT) as run:
        os.close(other)
        seen = b""
        while True:
            ready, _, _ = select.select([own], [], [], 0.2)
            if ready:
                try:
                    more_bytes = os.read(own, 65536)
                except OSError:
                    break
                if not more_bytes:
                    break
                seen += more_bytes
            elif run.poll() is not None:
                break
    os.close(own)
    return seen.decode("utf-8").replace("\r\n", "\n")


@pytest.fixture
def job(tmp_path: Path) -> Path:
    (tmp_path / "shop.toml").write_text(SHOP, encoding="utf-8")
    (tmp_path / "job.toml").write_text(SHARP, encoding="utf-8")
    return tmp_path / "job.toml"


def test_a_terminal_of_80_columns_is_enough(job: Path) -> None:
    text = ESCAPE.sub("", on_a_terminal("nest", job))
    assert "CLIP-1" in text and "decide" in text
    assert max(len(line) for line in text.splitlines()) <= 80


def test_into_a_pipe_every_row_goes_whole_and_plain(job: Path) -> None:
    run = flatgen("nest", job, COLUMNS="40")
    assert "\x1b" not in run.stdout + run.stderr
    rows = [line for line in run.stdout.splitlines() if line.startswith("CLIP-1 ")]
    assert len(rows) == 1 and re.search(r"CLIP-1 +2 +\d+ +1 +2024-T3 bare +0\.040 +3\.000 x 1\.\d\d\d", rows[0])
    (finding,) = [line for line in run.stderr.splitlines() if line.startswith("decide")]
    assert finding.endswith("[minimum-radius]")


def test_colour_is_for_terminals_and_never_the_only_sign(job: Path) -> None:
    coloured = on_a_terminal("check", job)
    assert "\x1b[33m\x1b[1mdecide" in coloured
    for quiet in ({"NO_COLOR": "1"}, {"TERM": "dumb"}):
        plain = on_a_terminal("check", job, **quiet)
        assert "\x1b" not in plain and plain == ESCAPE.sub("", coloured)


def test_quiet_says_nothing(job: Path) -> None:
    run = flatgen("make", job, "--out", job.parent / "out", "--quiet")
    assert (0, "", "") == (run.returncode, run.stdout, run.stderr)
    assert (job.parent / "out" / "index.html").is_file()


def test_json_is_what_is_written(job: Path) -> None:
    run = flatgen("make", job, "--out", job.parent / "out", "--json")
    assert run.stdout == (job.parent / "out" / "results.json").read_text(encoding="utf-8")
    assert "flatgen-results/2" == json.loads(run.stdout)["schema"] and "" == run.stderr
    findings = json.loads(flatgen("check", job, "--json").stdout)
    assert {"minimum-radius"} == {f["rule"] for f in findings if f["severity"] == "warn"}


def test_units_of_the_answer_can_be_chosen(job: Path) -> None:
    """3 in is 76.2 mm; results.json stays in mm whatever is shown."""
    assert "blank, mm" in (out := flatgen("nest", job, "--units", "mm").stdout) and " 76.20 x " in out
    flatgen("make", job, "--out", job.parent / "mm", "--units", "mm", "--quiet")
    flatgen("make", job, "--out", job.parent / "in", "--quiet")
    read = [json.loads((job.parent / u / "results.json").read_text(encoding="utf-8")) for u in ("mm", "in")]
    assert ["mm", "in"] == [results.pop("units") for results in read]
    assert [part["blank"] for part in read[0]["parts"]] == [part["blank"] for part in read[1]["parts"]]
    assert "76.20 × " in (job.parent / "mm" / "index.html").read_text(encoding="utf-8")


def test_statuses(job: Path) -> None:
    assert 0 == flatgen("check", job).returncode
    assert 2 == flatgen("check", job.parent / "none.toml").returncode
    assert 2 == flatgen("check").returncode
    assert 1 == flatgen("make", job, "--out", job / "below-a-file").returncode
    for name, text in (("job.toml", SHARP), ("shop.toml", SHOP)):
        (job.parent / name).write_text(text.replace('radius = "1/8 in"', 'radius = "1/64 in"'), encoding="utf-8")
    stopped = flatgen("check", job)
    assert 3 == stopped.returncode and "STOP " in stopped.stderr


def test_a_mistake_of_our_own_is_told_in_a_sentence(job: Path) -> None:
    code = (
        "import flatgen.jobs.loading as m; m.load = lambda path: 1 / 0\n"
        f"from flatgen.cli import flatgen; flatgen(['check', {str(job)!r}])"
    )

    def run(**more: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-c", code]
        return subprocess.run(command, capture_output=True, text=True, env=ENVIRONMENT | more, cwd=ROOT)

    told = run(FLATGEN_TRACEBACK="")
    assert 1 == told.returncode and "Traceback" not in told.stderr
    assert "a mistake of flatgen's own, not of yours (ZeroDivisionError: division by zero)" in told.stderr
    assert "Traceback" in run(FLATGEN_TRACEBACK="1").stderr


def test_summary_says_made_doubtful_and_next(job: Path) -> None:
    run = flatgen("make", job, "--out", job.parent / "out")
    assert "Doubtful: 1 finding to decide on" in run.stdout
    assert f"1. Open {job.parent / 'out' / 'index.html'}" in run.stdout
    assert "Part 1, test bends first: cut sheet 1" in " ".join(run.stdout.split())


def test_a_reader_who_has_seen_enough_is_no_error(job: Path) -> None:
    command = f"{sys.executable} -m flatgen check {job} --json | head -c 20"
    run = subprocess.run(command, shell=True, capture_output=True, text=True, env=ENVIRONMENT, cwd=ROOT)
    assert "" == run.stderr


def test_progress_only_on_a_terminal_and_only_past_a_second() -> None:
    """The bar waits for a second; what is quicker shows none."""
    slow = (
        "import sys, time; from flatgen.cli.progress import progress\n"
        "with progress() as track:\n"
        "    for n in track(range(8), 'waiting'): time.sleep(float(sys.argv[1]))\n"
        "print('rich' in sys.modules)\n"
    )

    def seen(pause: str, tty: bool) -> str:
        command = [sys.executable, "-c", slow, pause]
        if not tty:
            run = subprocess.run(command, capture_output=True, text=True, env=ENVIRONMENT, cwd=ROOT)
            return run.stdout + run.stderr
        own, other = pty.openpty()
        with subprocess.Popen(command, stdout=other, stderr=other, env=ENVIRONMENT, cwd=ROOT) as run2:
            os.close(other)
            out = b""
            while True:
                try:
                    piece = os.read(own, 65536)
                except OSError:
                    break
                if not piece:
                    break
                out += piece
            run2.wait()
        os.close(own)
        return out.decode()

    assert "waiting" in seen("0.25", tty=True)
    assert "False" == seen("0", tty=True).strip()
    assert "False" == seen("0.25", tty=False).strip()


def test_tab_completes_commands() -> None:
    more = {"_FLATGEN_COMPLETE": "bash_complete", "COMP_WORDS": "flatgen ma", "COMP_CWORD": "1"}
    assert "plain,make" in flatgen(**more).stdout
    assert "complete " in flatgen(_FLATGEN_COMPLETE="bash_source").stdout


def interrupted(words: list[str], after: float) -> int:
    command = [sys.executable, "-m", "flatgen", *words]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=ENVIRONMENT, cwd=ROOT) as run:
        time.sleep(after)
        run.send_signal(signal.SIGINT)
        _, said = run.communicate(timeout=60)
    assert b"Traceback" not in said
    return run.returncode


@pytest.mark.slow
def test_ctrl_c_leaves_whole_files(tmp_path: Path) -> None:
    """At whatever moment: the packet is the old one or the new one, and nothing lies beside it."""
    out = tmp_path / "out"
    demo = str(ROOT / "examples" / "float-fittings" / "job.toml")
    flatgen("make", CHANNEL, "--out", out, "--quiet")
    old = {path.relative_to(out): path.read_bytes() for path in out.rglob("*") if path.is_file()}
    for after in (0.4, 0.9, 1.6, 3.0):
        status = interrupted(["make", demo, "--out", str(out), "--quiet"], after)
        now = {path.relative_to(out): path.read_bytes() for path in out.rglob("*") if path.is_file()}
        assert status in (0, 1, -signal.SIGINT), status  # the last: before Python listens to it
        assert status == 0 or now == old
        assert [out] == list(tmp_path.iterdir())
        if status == 0:
            break


@pytest.mark.slow
def test_watch_makes_again_on_saving(job: Path) -> None:
    out, said = job.parent / "out", job.parent / "said.txt"
    command = [sys.executable, "-m", "flatgen", "make", str(job), "--out", str(out), "--watch", "--quiet"]

    def waits(times: int) -> bool:
        """Whether it is waiting for a change for so many times now."""
        for _ in range(600):
            if said.read_text(encoding="utf-8").count("Watching the files of") >= times:
                return True
            time.sleep(0.1)
        return False

    def quantity() -> int:
        results = json.loads((out / "results.json").read_text(encoding="utf-8"))
        return int(results["parts"][0]["quantity"])

    with (
        said.open("w", encoding="utf-8") as errors,
        subprocess.Popen(command, stdout=errors, stderr=errors, env=ENVIRONMENT, cwd=ROOT) as run,
    ):
        assert waits(1) and 2 == quantity()
        job.write_text(SHARP.replace("quantity = 2", "quantity = "), encoding="utf-8")  # half written
        assert waits(2) and 2 == quantity()
        job.write_text(SHARP.replace("quantity = 2", "quantity = 7"), encoding="utf-8")
        assert waits(3) and 7 == quantity()
        run.send_signal(signal.SIGINT)
        assert 0 == run.wait(60)
    assert "this is not TOML" in (text := said.read_text(encoding="utf-8")) and "Traceback" not in text
