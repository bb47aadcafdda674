"""How long it takes from a key on a part's page to its pictures, and to the brake's answer.

    python tests/benchmarks/bench_page/keystrokes.py [--edits 200]

Processor time of all that the page waits for: the job read with the change, the part developed and checked, flat,
sections and the part to turn as they are sent. A usual part among the 22 of the demo, and a tray of eight bends. The
aims: median 100 ms, 95 of 100 within 250 ms; the brake within 1 s of the usual part, 3 s of the tray.
"""

import argparse
import json
import shutil
import statistics
import tempfile
import time
import tomllib
from collections.abc import Callable
from pathlib import Path

from flatgen.jobs.trial import Trials
from flatgen.read.profile import find_profile, load_profile
from flatgen.served.part_pictures import pictures
from flatgen.write.edits import Set

DEMO = Path(__file__).resolve().parents[3] / "examples" / "float-fittings"
TRAY = """
[[part]]
id = "TRAY-8"
profile = "mitred-tray"
quantity = 2
material = "6061-T6"
thickness = "0.040 in"
radius = "1/8 in"
"""
HOLES = """
[[part]]
id = "CLIP-6"
profile = "angle"
quantity = 12
material = "6061-T6"
thickness = "0.040 in"
radius = "1/8 in"
[[part.holes]]
face = "leg_a"
rivet = "1/8 in"
edge = "bottom"
edge_distance = "5/16 in"
first = "3/8 in"
last = "3/8 in"
count = 6
"""
CASES = (
    ("a usual part", "CLIP-6", "leg_b", "angle", 1.0),
    ("a tray of 8 bends", "TRAY-8", "height", "mitred-tray", 3.0),
)


def milliseconds(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return 1000.0 * (time.process_time() - start)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--edits", type=int, default=200)
    edits = parser.parse_args().edits
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "job"
        shutil.copytree(DEMO, folder)
        with (folder / "job.toml").open("a", encoding="utf-8") as file:
            file.write(HOLES + TRAY)
        trials = Trials(folder / "job.toml")
        parts = [part.get("id") for part in tomllib.loads((folder / "job.toml").read_text())["part"]]
        for what, part, key, profile_name, most in CASES:
            row, profile = parts.index(part), load_profile(find_profile(profile_name))

            def key_pressed(k: int, row: int = row, key: str = key, profile: object = profile) -> None:
                look = trials.look(row, [Set(("part", row, key), f"{0.75 + k / 800:.5f} in")])
                json.dumps(pictures(look, profile, look.findings))

            key_pressed(-1)
            times = [milliseconds(lambda k=k: key_pressed(k)) for k in range(edits)]
            median, late = statistics.median(times), statistics.quantiles(times, n=20)[-1]
            print(f"{what}: median {median:.0f} ms ({median / 100:.2f} of what it may be), ", end="")
            print(f"95 of 100 within {late:.0f} ms ({late / 250:.2f}), longest {max(times):.0f} ms")
            look = trials.look(row, [Set(("part", row, key), "0.9 in")])
            brake = milliseconds(lambda look=look: trials.braked(look)) / 1000.0
            print(f"  the brake's answer {brake:.2f} s ({brake / most:.2f} of what it may be)")


if __name__ == "__main__":
    main()
