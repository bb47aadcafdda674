"""How long a tray of average difficulty takes, and whether 1,000 distinct parts take ten times as long as 100.

Run it; it prints milliseconds of processor time and ratios. The aim: under 5 ms to unfold once loaded, a ratio near 10.
"""

import statistics
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from flatgen.develop.allowance import bent_radius
from flatgen.develop.develop import develop
from flatgen.develop.methods import Case
from flatgen.develop.unfold import unfold
from flatgen.jobs.loading import load
from flatgen.model.blank import BentRadius

DATA = Path(__file__).resolve().parents[2] / "data" / "language"


def milliseconds(work: Callable[[int], object], rounds: int) -> float:
    """Median over rounds; ``work`` is told which, so that it can make no two alike and nothing kept helps it."""
    times = []
    for k in range(rounds):
        start = time.process_time()
        work(k)
        times.append(1000.0 * (time.process_time() - start))
    return statistics.median(times)


def many_seconds(count: int) -> tuple[float, float]:
    """Seconds to read and to develop a job of distinct channels and trays."""
    rows = "\n".join(f"P{k},{2 + k / 1000:.4f} in,{0.6 + k / 5000:.4f} in" for k in range(count))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "shop.toml").write_bytes((DATA / "shop.toml").read_bytes())
        (folder / "sizes.csv").write_text(f"id,web,flange\n{rows}\n", encoding="utf-8")
        (folder / "job.toml").write_text(
            'title = "Many"\nmaterial = "6061-T6"\nthickness = "0.040 in"\nradius = "3/32 in"\n[[part]]\n'
            'profile = "channel"\nquantity = 1\nsizes = "sizes.csv"\n[[part.holes]]\nface = "web"\ndrill = "#30"\n'
            'edge = "top"\nedge_distance = "1 in"\nfirst = "1 in"\nlast = "1 in"\ncount = 4\n',
            encoding="utf-8",
        )
        start = time.process_time()
        job = load(folder / "job.toml")
        read = time.process_time()
        for part in job.parts:
            develop(part, job.shop)
        return read - start, time.process_time() - read


def main() -> None:
    job = load(DATA / "tray-job.toml")
    (part,) = job.parts
    bents = {
        bend.id: bent_radius(
            Case(bend.angle, bend.radius, part.thickness, part.material, job.shop), brake=job.shop.brake()
        )
        for bend in part.bends
    }

    def other(k: int) -> dict[str, BentRadius]:
        return {key: replace(bent, allowance=bent.allowance + 0.001 * (k + 1)) for key, bent in bents.items()}

    print(f"tray of 4 flanges, 4 reliefs, 20 holes: unfold {milliseconds(lambda k: unfold(part, other(k)), 50):.2f} ms")
    print(f"  radius, allowance, unfold, proof: {milliseconds(lambda k: develop(part, job.shop), 20):.2f} ms")
    times = {count: many_seconds(count) for count in (100, 1000)}
    for count, (read, made) in times.items():
        print(f"{count} distinct channels: read {read:.2f} s, developed {made:.2f} s")
    read, made = (b / a for a, b in zip(times[100], times[1000], strict=True))
    print(f"ratio of 1000 to 100: read {read:.1f}, developed {made:.1f}")


if __name__ == "__main__":
    main()
