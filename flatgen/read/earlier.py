"""Entries of a job that were made once stay made while nothing that they come from changes.

For whoever reads one job again and again, as the bench page does at every keystroke.
"""

from collections.abc import Mapping
from typing import Any

from flatgen import budget
from flatgen.model.part import Part
from flatgen.read.entries import DEFAULTED, Context, Entry, Made, make_parts
from flatgen.read.profile import Profile

MOST = 2000  # entries kept; a change a keystroke adds one


class Earlier:
    """What entries came to; what was wrong with one is found anew."""

    def __init__(self) -> None:
        """Nothing has been made yet."""
        # the profile and the parts referred to are held, so that no other takes their identity
        self.made: dict[tuple[object, ...], tuple[Profile, list[Part], Made]] = {}
        self.shared: tuple[Context, str] | None = None

    def parts(self, context: Context, entry: Entry, built: Mapping[str, Part], to_come: frozenset[str]) -> Made | None:
        """As ``make_parts``."""
        named = {*_names(entry.table.data)}
        if named & to_come:
            return make_parts(context, entry, built, to_come)
        met = [part for name, part in built.items() if name in named]
        outlines = [budget.stamp(path) for path in entry.profile.outlines]
        own = (repr(entry.table.data), entry.table.decimal_comma, entry.id, entry.family, *outlines)
        key = (self._told(context), *own, id(entry.profile), *map(id, met))
        if key in self.made:
            return self.made[key][2]
        made = make_parts(context, entry, built, to_come)
        if made is not None:
            if len(self.made) >= MOST:
                self.made.clear()
            self.made[key] = (entry.profile, met, made)
        return made

    def _told(self, context: Context) -> str:
        """All that the parts of one job share, as text."""
        if self.shared is None or self.shared[0] is not context:
            usual = [context.values.get(key) for key in (*DEFAULTED, "notes")]
            self.shared = (context, repr((context.units, usual, context.own, context.shop)))
        return self.shared[1]


def _names(data: Any) -> list[str]:
    """The parts that an entry refers to: those of ``same_as``, without the pattern's name, and of ``fits``."""
    lists = [found for key in ("holes", "fits") if isinstance(found := data.get(key), list)]
    rows = [row for found in lists for row in found]
    texts = [str(row.get(key, "")) for row in rows if isinstance(row, dict) for key in ("same_as", "part")]
    return [name for text in texts for name in (text, text.rpartition(".")[0]) if name]
