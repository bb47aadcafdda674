"""Every figure of speed that this project promises, as ratios to a floor measured in the same run.

    python tests/benchmarks/run.py [--rounds 5] [--most 1000] [WORD…]

Whole processes, medians of processor time; the floor is ``import ezdxf, shapely, numpy`` or ``import click``, as stands
beside each. WORDs choose lines that hold one of them. ``--most`` parts are the end of the row of growing jobs; its
exponent is that of time over number of parts from the second smallest on.
"""

import argparse
import math
import os
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
HEAVY, LIGHT = "import ezdxf, shapely, numpy", "import click"
BEND = ["bend", "-m", "2024-T3", "-t", "0.040", "-r", "5/32", "--legs", "1.000, 0.750"]
PART = """[[part]]
id = "P{k}"
profile = "{profile}"
quantity = {pieces}
length = {length}
"""


@dataclass(frozen=True, slots=True)
class Line:
    """One promise: what is run (after ``ready``, which is not timed), its floor, and how many times that it may be."""

    name: str
    words: list[str]
    floor: str
    most: float
    ready: Callable[[], object] = lambda: None


def processor(words: list[str], env: dict[str, str]) -> tuple[float, int]:
    """Processor time of one run [s], and the most memory of any so far [kB]."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run([sys.executable, *words], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, env=env)
    if done.returncode not in (0, 3):
        raise SystemExit(f"{words}: {done.stderr.decode()}")
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, after.ru_maxrss


def copied(name: str, scratch: Path) -> Path:
    shutil.copytree(ROOT / "examples" / name, scratch / name, dirs_exist_ok=True)
    return scratch / name / "job.toml"


def other_size(job: Path, old: str) -> Callable[[], None]:
    """Gives the first of these sizes another value each time."""
    text, count = job.read_text(encoding="utf-8"), iter(range(1, 1000))
    return lambda: job.write_text(text.replace(old, f"leg_a = {1 + next(count) / 100}\n", 1), encoding="utf-8") and None


def promises(scratch: Path, kept: Path) -> Iterator[Line]:
    demo, first, channel = (copied(name, scratch) for name in ("float-fittings", "first-clips", "handbook-channel"))
    yield Line("--help", ["--help"], LIGHT, 2.0)
    yield Line("bend", BEND, LIGHT, 2.5)
    yield Line("check of one part", ["check", str(channel)], HEAVY, 3.0)
    yield Line("blank of one part", ["blank", str(channel), "--out", str(scratch / "b.dxf")], HEAVY, 4.0)
    for name, job, most, again in (("demo", demo, 20.0, 3.0), ("first job", first, 5.0, 3.0)):
        make = ["make", str(job), "--out", str(scratch / f"out-{job.parent.name}"), "--quiet"]
        yield Line(f"{name}: first make", make, HEAVY, most, lambda: shutil.rmtree(kept, ignore_errors=True))
        yield Line(f"{name}: nothing changed", make, HEAVY, again)
        yield Line(f"{name}: one size changed", make, HEAVY, 6.0, other_size(job, "leg_a = 1\n"))


def many(count: int, scratch: Path, pieces: int = 1) -> Path:
    """A job of so many distinct parts, each of its own length."""
    folder = scratch / f"many-{count}-{pieces}"
    folder.mkdir()
    shop = (ROOT / "examples" / "first-clips" / "shop.toml").read_text(encoding="utf-8")
    (folder / "shop.toml").write_text(shop, encoding="utf-8")
    head = 'title = "Many"\nunits = "in"\nmaterial = "6061-T6"\nthickness = "0.040 in"\nradius = "1/8 in"\n'
    parts = [
        PART.format(k=k, profile=("angle", "channel", "zed")[k % 3], pieces=pieces, length=1.5 + 5.0 * k / count)
        for k in range(count)
    ]
    (folder / "job.toml").write_text(head + "".join(parts), encoding="utf-8")
    return folder / "job.toml"


def growing(scratch: Path, most: int, env: dict[str, str]) -> None:
    """Times, memory and packets of jobs that grow."""
    print("\n| parts | pieces | processor time, s | a part, s | memory, MB | packet, MB |")
    print("| --- | --- | --- | --- | --- | --- |")
    found = []
    for count, pieces in [(n, 1) for n in (30, 100, 300, 1000, 3000) if n <= most] + [(50, 200)]:
        out = scratch / f"out-many-{count}"
        spent, memory = processor(
            ["-m", "flatgen", "make", str(many(count, scratch, pieces)), "--out", str(out), "--quiet"],
            {**env, "FLATGEN_KEPT": "no"},
        )
        size = sum(path.stat().st_size for path in out.rglob("*") if path.is_file()) / 1e6
        line = f"{spent:.1f} | {spent / count:.3f} | {memory / 1000:.0f} | {size:.1f}"
        print(f"| {count} | {count * pieces} | {line} |", flush=True)
        if pieces == 1:
            found.append((count, spent))
        shutil.rmtree(out)
    if len(found) > 2:
        (a, s), (b, t) = found[1], found[-1]
        print(f"\ngrowth from {a} to {b} parts: n^{math.log(t / s) / math.log(b / a):.2f} (at most 1.15)")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--most", type=int, default=1000)
    parser.add_argument("words", nargs="*")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        scratch = Path(folder)
        env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONPYCACHEPREFIX": str(scratch / "pyc")}
        env |= {"FLATGEN_KEPT": str(scratch / "kept")}
        env.pop("PYTHONDONTWRITEBYTECODE", None)
        floors: dict[str, list[float]] = {HEAVY: [], LIGHT: []}
        print("| what | floor | ratio | at most |\n| --- | --- | --- | --- |")
        for line in promises(scratch, scratch / "kept"):
            if asked.words and not any(word in line.name for word in asked.words):
                continue
            words, times = ["-m", "flatgen", *line.words], []
            processor(words, env)  # its modules compiled, what it keeps kept
            for _ in range(asked.rounds):
                floors[line.floor].append(processor(["-c", line.floor], env)[0])
                line.ready()
                times.append(processor(words, env)[0])
            ratio = statistics.median(times) / statistics.median(floors[line.floor])
            print(f"| {line.name} | `{line.floor}` | {ratio:.2f} | {line.most:g} |", flush=True)
        if not asked.words or any("many" in word for word in asked.words):
            growing(scratch, asked.most, env)


if __name__ == "__main__":
    main()
