"""Ticks and counts from the packet's page, as events of the tally: taken at any time, of any packet of the job.

The page keeps them by what they are of (part, bend, sheet), and its counts go on from what the tally had when it was
printed; so a saved file says how many are done in all, and what the book lacks of that is entered. What no longer fits
is listed. Boxes that count no pieces (a first piece right, a step of a card, a setting) stay on the page.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from flatgen import budget
from flatgen.errors import InputError
from flatgen.model.tally import DRILLED, Counts, Event, Ordered
from flatgen.tally.counts import faults, follows, stand

PAGE_ONLY = ("first/", "card/", "set/")
TURNS = {"sawn": 1, "drilled": 2, "bent": 3, "measured": 4}  # counts of the page in the order of the work


@dataclass(frozen=True, slots=True)
class Saved:
    """What a page saved: values by key, of which job and packet, and when."""

    job: str
    digest: str
    saved: str
    values: Mapping[str, bool | int]


def read_saved(file: Path, job: str) -> Saved:
    """The file that the page of a packet saved; InputError where it is none, or of another job."""
    data = budget.parsed_json(file)
    entries = data.get("entries") if isinstance(data, dict) else None
    if not isinstance(entries, list) or not isinstance(data.get("saved"), str):
        raise InputError("this is not what a packet's page saves: it has no time or no entries", file=file)
    if data.get("job") != job:
        raise InputError(f'it is of the job "{data.get("job")}"; this one is "{job}"', file=file)
    values: dict[str, bool | int] = {}
    for number, entry in enumerate(entries, 1):
        key = entry.get("key") if isinstance(entry, dict) else None
        value = entry.get("value") if isinstance(entry, dict) else None
        if not isinstance(key, str) or not isinstance(value, bool | int):
            raise InputError(
                "has no key, or a value that is neither a tick nor a count", file=file, where=f"entry {number}"
            )
        if key in values:
            raise InputError(f'"{key}" stands there twice', file=file)
        values[key] = value
    return Saved(job, str(data.get("digest", "")), data["saved"], values)


def events_of(
    saved: Saved, order: Sequence[Ordered], happened: Sequence[Event], by: str
) -> tuple[list[Event], list[str]]:
    """What the book lacks of a saved file's counts, in the order of the work, and a sentence for each that fits not."""
    known = {one.part: one for one in order}
    entered: list[Event] = []
    unfit: list[str] = []
    counted: list[tuple[int, str, str, Ordered, str, int]] = []
    for key, value in saved.values.items():
        kind, _, what = key.partition("/")
        if not value or kind == "cut" or key.startswith(PAGE_ONLY) or what.endswith("/squeeze"):
            continue
        found = [(part, what[len(part) :].strip("/")) for part in known if what == part or what.startswith(f"{part}/")]
        if not found or kind not in TURNS:
            unfit.append(f"{key}: the job has nothing of this name any more")
            continue
        part, bends = max(found, key=lambda one: len(one[0]))
        # lengths are bent before their parts are sawn
        counted.append((0 if known[part].saw else TURNS[kind], key, kind, known[part], bends, int(value)))
    so_far = list(happened)
    for _, key, kind, one, bends, value in sorted(counted, key=lambda count: count[0]):
        for event in _lacking(kind, one, stand(one, order, so_far), bends, value, by):
            fault = faults(event, one, stand(one, order, so_far))
            if fault:
                unfit.append(f"{key}: {fault}")
            else:
                so_far += [event, *follows(event, known, so_far)]
                entered.append(event)
    return entered, unfit


def _lacking(kind: str, one: Ordered, now: Counts, bends: str, value: int, by: str) -> Iterator[Event]:
    """Events for what a box or a count says beyond the book."""
    done, note = dict(now.done), "ticked on the page"
    if kind == "measured":
        if value > now.good:
            yield Event("good", one.part, value - now.good, by=by, note=note)
        return
    if kind == "sawn":
        if value > now.cut:
            yield Event("cut", one.part, value - now.cut, by=by, note=note)
        return
    for station in (DRILLED,) if kind == "drilled" else bends.split("+"):
        more = value - done.get(station, 0)
        if more > 0:
            yield Event(kind, one.part, more, "" if station == DRILLED else station, by=by, note=note)


def cut_to(saved: Saved) -> dict[int, int | None]:
    """By number of sheet in the saved file's packet, up to which cut all boxes are ticked; None: to the last."""
    boxes: dict[int, list[tuple[int, bool]]] = {}
    for key, value in saved.values.items():
        words = key.split("/")
        if words[0] == "cut" and words[1].isdecimal() and words[-1].isdecimal():
            boxes.setdefault(int(words[1]), []).append((int(words[-1]), bool(value)))
    found: dict[int, int | None] = {}
    for number, own in boxes.items():
        open_ = [order for order, ticked in own if not ticked]
        if not open_:
            found[number] = None
        elif min(open_) > 1 and any(ticked for _, ticked in own):
            found[number] = min(open_) - 1
    return found
