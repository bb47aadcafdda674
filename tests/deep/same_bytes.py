"""Make jobs with several Pythons, seeds of hashing and numbers of cores, and compare every file to the last bit.

``python tests/deep/same_bytes.py --python python3.11 --python python3.12 --jobs 10``; each needs the libraries.

The demo, the first job and random jobs, without what is kept between runs. Ends with 1 when a file differs.
"""

import argparse
import hashlib
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = ("float-fittings", "first-clips")


def jobs(folder: Path, examples: Sequence[str], count: int, seed: int) -> Iterator[Path]:
    """Folders with a job.toml."""
    sys.path.insert(0, str(ROOT / "tests"))
    from random_jobs import random_job

    for name in examples:
        shutil.copytree(ROOT / "examples" / name, folder / name, ignore=shutil.ignore_patterns("out", "*.sqlite*"))
        yield folder / name
    for k in range(count):
        yield random_job(seed + k, folder / f"random-{seed + k}").parent


def digests(python: str, hashing: int, cores: int, job: Path, out: Path) -> dict[str, str]:
    """SHA-256 of every file that a run makes of a job."""
    around = {**os.environ, "PYTHONHASHSEED": str(hashing), "PYTHONPATH": str(ROOT), "FLATGEN_KEPT": "no"}
    shutil.rmtree(out, ignore_errors=True)
    words = ["taskset", "-c", ",".join(map(str, range(cores))), python, "-m", "flatgen", "make", "job.toml"]
    done = subprocess.run([*words, "--quiet", "--out", str(out)], cwd=job, env=around, capture_output=True, check=False)
    if done.returncode not in (0, 3):
        sys.exit(f"{python} {job.name}: {done.stderr.decode()}")
    files = sorted(path for path in out.rglob("*") if path.is_file())
    return {path.relative_to(out).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


def differences(ways: list[tuple[str, int, int]], job: Path, base: Path) -> list[str]:
    """Files of a job that differ between the first way to run and another one; the folders stay for a look."""
    found = []
    first = digests(*ways[0], job, base / "out-0")
    for k, way in enumerate(ways[1:], 1):
        other = digests(*way, job, base / "out")
        for name in sorted(first.keys() | other.keys()):
            if first.get(name) != other.get(name):
                found.append(f"{job.name}/{name}: {ways[0]} and {way}")
                keep = base / f"differs-{job.name}-{k}"
                for which, folder in (("first", "out-0"), ("other", "out")):
                    if (base / folder / name).exists():
                        (keep / which / name).parent.mkdir(parents=True, exist_ok=True)
                        shutil.copy(base / folder / name, keep / which / name)
    print(f"{job.name}: {len(first)} files, {len(found)} differ", flush=True)
    return found


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--python", action="append", help="interpreters; this one by default")
    asked.add_argument("--example", action="append", help="examples; the demo and the first job by default")
    asked.add_argument("--jobs", type=int, default=10, help="random jobs beside the examples")
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    pythons = [shutil.which(one) or one for one in given.python or [sys.executable]]
    many = min(2, os.cpu_count() or 1)
    ways = [(one, k % 2, (many, 1)[k // 2 % 2]) for k, one in enumerate(pythons)]
    ways += [(pythons[0], 1, 1), (pythons[-1], 0, many)]
    base = Path(tempfile.mkdtemp(prefix="same-"))
    found = [
        one
        for job in jobs(base, given.example or EXAMPLES, given.jobs, given.seed)
        for one in differences(ways, job, base)
    ]
    print("\n".join(found))
    if not found:
        shutil.rmtree(base)
    sys.exit(f"{len(found)} files differ; they lie in {base}" if found else 0)


if __name__ == "__main__":
    main()
