"""Wall time of ``flatgen tally show`` over that of ``python -c "import click"``: 10,000 pieces, 50,000 entries.

Run it, it prints the ratio. The aim is at most six.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from small_shop import HEAD, SHOP  # noqa: E402

from flatgen.jobs.tallying import tally_place  # noqa: E402
from flatgen.model.tally import Event  # noqa: E402
from flatgen.records.book import open_book  # noqa: E402
from flatgen.records.tally import keep_order, put  # noqa: E402

PARTS, EACH, ROUNDS = 100, 100, 15


def filled(folder: Path) -> Path:
    """A job of 100 part numbers, 100 of each, with five entries a piece."""
    parts = "".join(f'[[part]]\nid = "P-{k}"\nprofile = "angle"\nquantity = {EACH}\n' for k in range(PARTS))
    (folder / "shop.toml").write_text('work = "general"\n' + SHOP)
    job = folder / "job.toml"
    job.write_text(HEAD + parts)
    at = tally_place(job)
    with open_book(at.book) as book, book.entering():
        keep_order(book, at.title, at.order, at.basis)
        for _ in range(EACH):
            for part in at.order:
                figures = part.figures.as_dict() if part.figures else {}
                put(book, at.title, Event("cut", part.part, 1, sheet="S001", facts=figures, by="anna"))
                put(book, at.title, Event("drilled", part.part, 1, by="anna"))
                put(book, at.title, Event("bent", part.part, 1, "b1", by="anna"))
                good = put(book, at.title, Event("good", part.part, 1, by="anna"))
                put(book, at.title, Event("undone", part.part, 0, why="slip", undoes=good))
    return job


def seconds(words: list[str], env: dict[str, str]) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, *words], stdout=subprocess.DEVNULL, env=env, check=True)
    return time.perf_counter() - start


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        job = filled(Path(folder))
        show = ["-m", "flatgen", "tally", "show", str(job)]
        env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONPYCACHEPREFIX": folder}
        env.pop("PYTHONDONTWRITEBYTECODE", None)
        seconds(show, env), seconds(["-c", "import click"], env)
        pairs = [(seconds(["-c", "import click"], env), seconds(show, env)) for _ in range(ROUNDS)]
    click, tally = (statistics.median(column) for column in zip(*pairs, strict=True))
    print(f"import click {1000 * click:.1f} ms, flatgen tally show {1000 * tally:.1f} ms, ratio {tally / click:.2f}")


if __name__ == "__main__":
    main()
