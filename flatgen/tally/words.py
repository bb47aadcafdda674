"""The tally in words: one row a part, a job in a line, a task with its minutes."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from flatgen.model.tally import Counts, Pace

if TYPE_CHECKING:
    from flatgen.tally.tonight import Task

HEADS = ("part", "wanted", "spare", "cut", "drilled", "bent", "good", "rejected", "to cut", "to bend")


def tally_row(one: Counts) -> tuple[str, ...]:
    """A part in the columns of ``HEADS``."""
    done = dict(one.done)
    drilled = str(done.pop("drilled")) if "drilled" in done else "-"
    bent = ", ".join(f"{bend} {n}" for bend, n in done.items()) or "-"
    why = "; ".join(f"{n} {why or 'rejected'}{f' at {place}' if place else ''}" for n, why, place in one.reasons)
    to_bend = str(max(one.left(bend) for bend in done)) if done else "-"
    numbers = (one.wanted, one.spares, one.cut)
    name = f"{one.part}, to saw up" if one.formed else one.part
    return (name, *map(str, numbers), drilled, bent, str(one.good), why or "0", str(one.to_cut), to_bend)


def far_words(group: Sequence[Counts]) -> str:
    """How far the parts of a card are; the hands of a pair also each for itself."""
    wanted, spares, good, in_work, to_cut = (
        [getattr(one, key) for one in group] for key in ("wanted", "spares", "good", "in_work", "to_cut")
    )
    what, done = ("lengths", "sawn up") if group[0].formed else ("wanted", "good")
    if not any(one.cut for one in group):
        return f"{_each(wanted)} {what}" + (f" + {sum(spares)} spare" if any(spares) else "")
    return f"{sum(wanted)} {what}: {sum(good)} {done}, {sum(in_work)} in work, {_each(to_cut)} to cut"


def _each(many: Sequence[int]) -> str:
    return f"{sum(many)} ({' + '.join(map(str, many))})" if len(many) == 2 else str(sum(many))


def headline(found: Sequence[Counts]) -> str:
    """A job in one line; formed lengths are no pieces of it."""
    keys = ("wanted", "good", "rejected", "in_work", "to_cut")
    wanted, good, rejected, in_work, to_cut = (
        sum(one.as_dict()[key] for one in found if not one.formed) for key in keys
    )
    return f"{wanted} wanted   {good} good   {rejected} rejected   {in_work} in work   {to_cut} to cut"


def task_words(task: "Task") -> str:
    """One thing to do, with its minutes."""
    return f"{task.text} ({task.minutes:.0f} min)"


def pace_words(own: Mapping[str, Pace]) -> str:
    """Where the minutes come from."""
    known = [
        f"{kind} {pace.minutes:.1f} min a piece ({pace.low:.1f} to {pace.high:.1f} in half of {pace.entries} entries)"
        for kind, pace in sorted(own.items())
        if kind in ("cut", "drilled", "bent", "good")
    ]
    guessed = "Minutes are guesses (shop.toml, [minutes]) until the shop has entries enough of its own."
    return f"The shop's own: {'; '.join(known)}. The others are guesses of shop.toml." if known else guessed
