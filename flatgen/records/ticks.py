"""Ticks and counts that were kept at the bench in the packet's page, read from the file that it saves into the book.

The page writes what was ticked with the digest of its inputs; the packet's ``results.json`` has the same digest and
says what there is to tick. So nothing is entered that is not of this packet. Only what has changed since it was last
read is entered: a box that was ticked, one whose tick was taken away, a count.
"""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from flatgen import budget
from flatgen.core.words import counted
from flatgen.errors import InputError, InputErrors
from flatgen.records.book import Book, now, open_book

FIRST = "first piece measured and right"
STATIONS = {"drilled": "drilled and deburred", "measured": "measured and right"}
MOST_STEPS = 99  # of a card
Named = dict[str, tuple[str, str, int]]  # by key: place, what it is, the most that it can be; 0 for a box


@dataclass(frozen=True, slots=True)
class Tick:
    """A box or a count of a packet's page; ``value`` is 1 for a ticked box, else the count."""

    key: str
    place: str
    what: str
    value: int


@dataclass(frozen=True, slots=True)
class Ticks:
    """What one saved file says of one packet."""

    job: str
    digest: str
    saved: str
    ticks: tuple[Tick, ...]


def read_ticks(file: Path, results: Path) -> Ticks:
    """The file that the page saved, checked against the packet's results.json.

    Raises InputErrors with all that is not of this packet: another job or digest, keys that it has not, values that a
    box or a count cannot have.
    """
    saved, packet = _loaded(file), _loaded(results)
    for key, wanted in (("job", packet.get("job")), ("digest", packet.get("input_digest"))):
        if saved.get(key) != wanted:
            message = f'{key} is "{saved.get(key)}"; the packet\'s is "{wanted}". Take the packet that it was ticked in'
            raise InputError(message, file=file)
    if not isinstance(saved.get("saved"), str) or not isinstance(saved.get("entries"), list):
        raise InputError("this is not what a packet's page saves: it has no time or no entries", file=file)
    known = _named(packet)
    ticks, errors = [], []
    for number, entry in enumerate(saved["entries"], 1):
        try:
            ticks.append(_tick(entry, known))
        except InputError as error:
            errors.append(InputError(error.message, file=file, where=f"entry {number}"))
    doubles = {key for key, number in Counter(tick.key for tick in ticks).items() if number > 1}
    errors += [InputError(f'"{key}" stands there twice', file=file) for key in sorted(doubles)]
    if errors:
        raise errors[0] if len(errors) == 1 else InputErrors(errors)
    return Ticks(str(saved["job"]), str(saved["digest"]), saved["saved"], tuple(ticks))


def _loaded(file: Path) -> dict[str, Any]:
    data = budget.parsed_json(file)
    if not isinstance(data, dict):
        raise InputError("holds no table of names and values", file=file)
    return data


def _tick(entry: Any, known: Named) -> Tick:
    key = entry.get("key") if isinstance(entry, dict) else None
    if not isinstance(key, str) or key not in known:
        raise InputError(f'the packet has nothing for "{key}"')
    place, what, most = known[key]
    value = entry.get("value")
    if most and isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= most:
        return Tick(key, place, what, value)
    if not most and isinstance(value, bool):
        return Tick(key, place, what, int(value))
    raise InputError(f'"{key}" is {value!r}; it must be {f"a count from 0 to {most}" if most else "true or false"}')


def _named(packet: Mapping[str, Any]) -> Named:
    """Every box and count of a packet's page, by the key that names what it is of."""
    known: Named = {}
    for number, nest in enumerate(packet["nests"], 1):
        sheet = nest["sheet"]["id"]
        for cut in nest["cuts"]:
            what = f"cut {cut['order']} and those like it"
            known[f"cut/{number}/{sheet}/{cut['order']}"] = (f"sheet {number}, {sheet}", what, 0)
        for one in nest["placements"]:
            what = f"{one['part']} piece {one['copy']} cut"
            known[f"cut/{number}/{sheet}/{one['part']}/{one['copy']}"] = (f"sheet {number}, {sheet}", what, 0)
    for number, setup in enumerate(packet["setups"], 1):
        strokes: dict[tuple[str, int], list[Mapping[str, Any]]] = {}
        for op in setup["operations"]:
            strokes.setdefault((op["part"], op["step"]), []).append(op)
        tail, place = "/squeeze" if setup["stop_side"] == "squeeze" else "", f"setting {number}"
        for k, ((part, step), ops) in enumerate(strokes.items()):
            bends = [op["bend"] for op in ops]
            if k == 0:
                known[f"first/{part}/{', '.join(bends).replace(' ', '/')}{tail}"] = (place, FIRST, 0)
            said = f"pieces bent: {part} {', '.join(bends)}, step {step}"
            known[f"bent/{part}/{'+'.join(bends)}{tail}"] = (place, said, int(ops[0]["pieces"]))
    for part in packet["parts"]:
        for key, what in STATIONS.items():
            known[f"{key}/{part['id']}"] = (str(part["id"]), what, 0)
        for step in range(1, MOST_STEPS + 1):
            known[f"card/{part['id']}/{step}"] = (str(part["id"]), f"step {step} of its card", 0)
    return known


def enter_ticks(path: Path | str, ticks: Ticks, by: str = "") -> int:
    """Enter what has changed against the book, all or nothing; return how many entries that made."""
    with open_book(path) as book, book.entering():
        before = {tick.key: tick.value for tick in current_ticks(book, ticks.job, ticks.digest)}
        changed = [tick for tick in ticks.ticks if tick.value != before.get(tick.key, 0)]
        for tick in changed:
            book.enter(
                "tick",
                recorded_at=now(),
                recorded_by=by,
                job=ticks.job,
                digest=ticks.digest,
                saved_at=ticks.saved,
                key=tick.key,
                place=tick.place,
                what=tick.what,
                value=tick.value,
            )
        return len(changed)


def current_ticks(book: Book, job: str, digest: str = "") -> tuple[Tick, ...]:
    """What counts now of a job, of one packet or of all: the last entry of each box, where it is ticked or counted."""
    last: dict[tuple[str, str], Tick] = {}
    for row in book.rows("SELECT * FROM tick WHERE job = ? AND ? IN ('', digest) ORDER BY id", (job, digest)):
        last[row["digest"], row["key"]] = Tick(row["key"], row["place"], row["what"], row["value"])
    return tuple(tick for tick in last.values() if tick.value)


def ticked(book: Book, job: str) -> Iterator[tuple[str, str, str, str]]:
    """When, by whom, where and what was ticked of a job, in words; the cuts of a sheet as one."""
    rows = book.rows("SELECT * FROM tick WHERE job = ? ORDER BY id", (job,))
    last = {(row["digest"], row["key"]): row for row in rows}
    cuts: dict[tuple[str, str], list[Any]] = {}
    for row in last.values():
        if not row["value"]:
            continue
        if row["key"].startswith(("cut/", "s")):
            cuts.setdefault((row["digest"], row["place"]), []).append(row)
            continue
        said = f"{row['what']}: {row['value']}" if row["what"].startswith("pieces bent") else row["what"]
        yield row["saved_at"][:10], row["recorded_by"], row["place"], said
    for (_, place), several in cuts.items():
        yield (
            several[-1]["saved_at"][:10],
            several[-1]["recorded_by"],
            place,
            f"{counted(len(several), 'step')} of cutting done",
        )
