"""Spoil every kind of input file, one at a time, and put it through the command line: no traceback, no half output.

``python tests/deep/fuzz_inputs.py --count 1000 --seed 1``; ``--first 37 --count 1`` brings number 37 back.

Each input ends with a status of 0 to 3; a refusal is a short text that names a file of the job
and leaves OUT and the book as they were.
"""

import argparse
import functools
import os
import random
import re
import shutil
import signal
import sqlite3
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterable
from pathlib import Path
from types import FrameType

import ezdxf
from click.testing import CliRunner, Result

from flatgen.cli import flatgen
from flatgen.kept import keeping

ROOT = Path(__file__).resolve().parents[2]
LONGEST = 60  # s for one input, on any machine
SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="3in" height="2in" viewBox="0 0 3 2"><path d="M0 0H3V2H0Z"/></svg>'
SHOP = """work = "general"
[[brake]]
name = "bench"
length = "30 in"
[[brake.nose]]
name = "nose 1/8"
radius = "1/8 in"
[[tool]]
name = "shear"
method = "shear"
[[tool]]
name = "router"
method = "profile-cut"
gap = "0.25 in"
[[sheet]]
id = "040"
material = "2024-T3"
thickness = "0.040 in"
length = 48
width = 36
"""
JOB = """title = "spoiled"
units = "in"
shop = "shop.toml"
material = "2024-T3"
thickness = "0.040 in"
radius = "1/8 in"
[[part]]
sizes = "sizes.csv"
profile = "angle"
leg_a = 1
[[part.holes]]
face = "leg_a"
rivet = "1/8 in"
edge = "bottom"
edge_distance = "3/8 in"
along = [0.4, 1.2]
[[part]]
id = "OX-4"
profile = "own.toml"
quantity = 3
[[part]]
id = "OX-5"
profile = "plate.toml"
quantity = 2
tool = "router"
[[part]]
id = "OX-6"
profile = "plate2.toml"
quantity = 1
tool = "router"
"""
PLATE = 'title = "plate"\nbase = "web"\n[face.web]\noutline = "{}"\n'
TICKS = (
    '{"job": "spoiled", "digest": "x", "saved": "2026-11-25T10:00:00Z", "entries": ['
    '{"key": "bent/OX-1/b1", "value": 3}, {"key": "cut/1/040/1", "value": true}]}'
)
# file -> commands that read it
READERS: dict[str, tuple[str, ...]] = {
    "job.toml": ("blank job.toml --out out", "check job.toml"),
    "shop.toml": ("blank job.toml --out out", "check job.toml"),
    "sizes.csv": ("blank job.toml --out out",),
    "own.toml": ("blank job.toml --out out",),
    "plate.toml": ("blank job.toml --out out",),
    "outline.dxf": ("blank job.toml --out out",),
    "outline.svg": ("blank job.toml --out out",),
    "nest.lock": ("nest job.toml",),
    "ticks.json": ("tally take job.toml ticks.json",),
    "entries.csv": ("tally enter job.toml --csv entries.csv",),
    "pieces.csv": ("inspect record job.toml --csv pieces.csv",),
    "coupons.csv": ("coupon record --shop shop.toml --csv coupons.csv",),
}
ODD = [
    *("0", "-1", "1e308", "-1e308", "5e-324", "nan", "inf", "1e400", "9" * 21, "1e-7", "true", "{}", "[]", "[1,[2]]"),
    *("1/0", "2026-13-01", "''", '""', '"1/0 in"', '"3 kg"', '"\u200b"', '"é\u202e"', '"a\\u0001"', "\x00"),
    *("[" * 500, '"' + "x" * 3000 + '"'),
]
TOKEN = re.compile(r'"[^"\n]*"|[-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?|[A-Za-z_][\w-]*')


def run(words: str) -> Result:
    """A command of flatgen in this process."""
    return CliRunner().invoke(flatgen, words.split())


def sound(folder: Path) -> Path:
    """A folder with a sound file of every kind, kept nests, drawings and a book made from them."""
    folder.mkdir()
    example, own = ROOT / "examples" / "float-fittings", (ROOT / "profiles" / "channel.toml").read_text("utf-8")
    files = {
        "job.toml": JOB, "shop.toml": SHOP, "own.toml": own, "outline.svg": SVG, "ticks.json": TICKS,
        "plate.toml": PLATE.format("outline.dxf") + 'file_units = "in"\n', "plate2.toml": PLATE.format("outline.svg"),
        "sizes.csv": "id,quantity,length,leg_b\nOX-1,7,2,3/4\nOX-2,5,2-1/2,1\n",
        "entries.csv": "what,part,pieces,place,why,note\ncut,OX-1,3,,,\nbent,OX-1,2,b1,,\n",
        "pieces.csv": "part,piece,1,2,3\nOX-1,1,1.004,0.748,89.5\n",
        "coupons.csv": (example / "measured-coupons.csv").read_text("utf-8").replace("2024-T3 clad", "2024-T3"),
    }  # fmt: skip
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    document = ezdxf.new("R12", units=0)  # a tenth of the text of a later one, and of the time to read it
    document.modelspace().add_polyline2d([(0, 0), (3, 0), (3, 2), (0, 2)], close=True)
    document.modelspace().add_circle((1, 1), 0.25)
    document.saveas(folder / "outline.dxf")
    os.chdir(folder)
    for words in ("nest job.toml --keep", "blank job.toml --out out", "tally cut job.toml OX-2 1"):
        made = run(words)
        assert made.exit_code in (0, 3), made.output
    return folder


def spoiled(chance: random.Random, sound_bytes: bytes) -> bytes:
    """A file with one to three things done to it."""
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        sound_bytes = chance.choice((value, value, value, key, line, line, raw))(chance, sound_bytes)
    return sound_bytes


def value(chance: random.Random, old: bytes) -> bytes:
    """A token replaced by an odd value, or by another one of the file."""
    text = old.decode("utf-8", "surrogateescape")
    tokens = list(TOKEN.finditer(text))
    if not tokens:
        return old
    at, other = chance.choice(tokens), chance.choice(tokens).group()
    new = chance.choice((*ODD, other, other, other, f'"{at.group()}"', at.group().strip('"')))
    return (text[: at.start()] + new + text[at.end() :]).encode("utf-8", "surrogateescape")


def key(chance: random.Random, old: bytes) -> bytes:
    """A letter more or less in a word."""
    words = list(re.finditer(rb"[A-Za-z]{3,}", old))
    at = chance.choice(words).start() if words else 0
    return old[: at + 1] + chance.choice((b"", b"q")) + old[at + 2 :]


def line(chance: random.Random, old: bytes) -> bytes:
    """A line taken out, written again, moved or written very often."""
    lines = old.splitlines(keepends=True) or [b"\n"]
    k, j = chance.randrange(len(lines)), chance.randrange(len(lines))
    block = b"".join(lines[min(j, k) : max(j, k) + 1])
    new = chance.choice((b"", lines[k] * 2, lines[j] + lines[k], lines[k] * 400, lines[k] + block))
    return b"".join((*lines[:k], new, *lines[k + 1 :]))


def raw(chance: random.Random, old: bytes) -> bytes:
    """Bytes put in, taken out or lost at the end."""
    at = chance.randrange(len(old) + 1)
    odd = chance.choice((b"\xff\xfe", b"\xc3", b"\x00", b"\r", b"\t", b'"', b"]", b"{", b",", b"<", b"\xef\xbb\xbf"))
    return chance.choice((old[:at] + odd + old[at:], old[:at] + old[at + 1 :], old[:at], odd + old, b""))


def state(folder: Path) -> dict[str, bytes | str]:
    """All that a refused command must leave as it is: every file, and the rows of the book."""
    found: dict[str, bytes | str] = {}
    for path in sorted(folder.rglob("*")):
        if "backups" in path.parent.name:
            continue  # the copy of the day is made before anything is entered
        if path.suffix == ".sqlite":
            with sqlite3.connect(path) as book:
                found[str(path)] = "\n".join(book.iterdump())
        elif path.is_file() and not path.name.endswith(("-wal", "-shm", "-journal", ".lock")):
            found[str(path)] = path.read_bytes()
    return found


class TooLongError(BaseException):
    """An input took longer than ``LONGEST`` seconds."""


def alarm(number: int, frame: FrameType | None) -> None:
    raise TooLongError


def wrong(words: str, folder: Path) -> str:
    """What is wrong with how a command met its input; nothing when all is well."""
    before = state(folder)
    signal.alarm(LONGEST)
    try:
        result = run(words)
    except TooLongError:
        return f"longer than {LONGEST} s"
    finally:
        signal.alarm(0)
    if result.exception and not isinstance(result.exception, SystemExit):
        return f"traceback {result.exception!r}"
    if result.exit_code not in (0, 1, 2, 3):
        return f"status {result.exit_code}"
    if result.exit_code in (1, 2):
        if state(folder) != before:
            return "refused, but something was written"
        if not any(name in result.stderr for name in READERS):
            return f"names no file: {result.stderr.strip()}"
        if len(result.stderr.splitlines()) > 40:
            return f"{len(result.stderr.splitlines())} lines of errors"
    elif any(path.is_file() and not path.stat().st_size for path in folder.rglob("out/*")):
        return "an empty file in OUT"
    return ""


def fuzz(numbers: Iterable[int], seed: int, said: Callable[[str], None]) -> Counter[str]:
    """Put spoiled files through, one a number; what falls is said with the number that brings it back."""
    counts: Counter[str] = Counter()
    here = Path.cwd()
    signal.signal(signal.SIGALRM, alarm)
    with tempfile.TemporaryDirectory() as base, keeping():
        model = sound(Path(base) / "sound")
        try:
            for k in numbers:
                name, words, why = once(random.Random(f"{seed}/{k}"), model, Path(base) / "spoiled")
                counts[f"{name}: " + ("fell" if why else "well")] += 1
                if why:
                    said(f"{k} {name} ({words}): {why.splitlines()[0][:300]}")
        finally:
            os.chdir(here)
    return counts


def once(chance: random.Random, model: Path, folder: Path) -> tuple[str, str, str]:
    """One spoiled file through one command that reads it: its name, the command, and what is wrong."""
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(model, folder)
    os.chdir(folder)
    name = chance.choice([*READERS])
    (folder / name).write_bytes(spoiled(chance, (model / name).read_bytes()))
    words = chance.choice(READERS[name])
    return name, words, wrong(words, folder)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--count", type=int, default=1000)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--first", type=int, default=0, help="number of the first input")
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:  # what the sound parts come to is computed once
        os.environ.update(FLATGEN_KEPT=folder, FLATGEN_TRACEBACK="1")
        counts = fuzz(range(given.first, given.first + given.count), given.seed, functools.partial(print, flush=True))
    print("\n".join(f"{name} {counts[name]}" for name in sorted(counts)))
    sys.exit(any(name.endswith("fell") for name in counts))


if __name__ == "__main__":
    main()
