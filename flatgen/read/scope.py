"""Values by name while a description is read: parameters, derived values, and the formulas that use them."""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from flatgen.errors import InputError, nearest
from flatgen.read.formula import Value, evaluate
from flatgen.units import LARGEST, parse_angle, parse_length

INDEX = "n"  # name of a repeated thing's number in formulas

# a text that is one written length and no formula, such as "1-3/16 in"
_FIGURE = r"(?:(?:\d+(?:-|\s+))?\d+\s*/\s*\d+|\d*\.?\d+|\d+\.)"
_WRITTEN = re.compile(
    rf"\s*[+-]?{_FIGURE}\s*(?:(?:ft|'|′)\s*{_FIGURE}\s*)?(?:mm|cm|m|inches|inch|in|ft|thou|mil|\"|″|'|′)?\s*"
)


@dataclass(slots=True)
class Scope:
    """Known values, and formulas still to be worked out: each at most once, and never in terms of itself.

    Those that use the number of a repeated thing, directly or not, are worked out anew for each.
    """

    units: str
    values: dict[str, Value] = field(default_factory=dict)
    texts: dict[str, str] = field(default_factory=dict)
    formulas: Mapping[str, str] = field(default_factory=dict)
    place_of: Callable[[str], tuple[Path, int | None, str]] | None = None  # file, line and words of a formula's place
    _under_way: list[str] = field(default_factory=list)
    _numbered: set[str] = field(default_factory=set)

    def look_up(self, name: str) -> Value:
        """Value of a name; InputError when there is none or when it refers to itself."""
        if name == INDEX or name in self._numbered:
            # whatever asked for it changes with the number too, and is worked out anew each time
            self._numbered.update(self._under_way)
        if name in self.values:
            return self.values[name]
        if name not in self.formulas:
            if name in self.texts:
                raise InputError(f'"{name}" is a text and is no number')
            raise InputError(f'there is no parameter "{name}". {nearest(name, [*self.values, *self.formulas])}')
        if name in self._under_way:
            circle = " -> ".join([*self._under_way[self._under_way.index(name) :], name])
            raise InputError(f'"{name}" refers to itself: {circle}')
        self._under_way.append(name)
        try:
            value = self._worked_out(str(self.formulas[name]))
        except RecursionError:
            if len(self._under_way) > 1:
                raise
            path, line, where = self.place_of(name) if self.place_of else (None, None, "")
            message = f'"{name}" is worked out by way of too many other values; write it with fewer in between'
            raise InputError(message, file=path, line=line, where=where) from None
        except InputError as error:
            if error.file is not None or self.place_of is None:
                raise
            path, line, where = self.place_of(name)
            raise InputError(error.message, file=path, line=line, where=where) from error
        finally:
            self._under_way.pop()
        if name not in self._numbered:
            self.values[name] = value
        return value

    def _worked_out(self, text: str) -> Value:
        if _WRITTEN.fullmatch(text) and not re.fullmatch(r"[\s\d./+-]*", text):
            return Value(parse_length(text, self.units), length=1)
        return evaluate(text, self.look_up, self.units)

    def length(self, raw: Any) -> float:
        """A length [mm]: as people write it, or a formula."""
        if isinstance(raw, str) and not _WRITTEN.fullmatch(raw):
            mm = self._of_kind(raw, "length", 1, 0)
            if abs(mm) > LARGEST:
                raise InputError(f'"{raw}" comes to {mm / 1000:.4g} m; no part or sheet here is longer than 100 m')
            return mm
        return parse_length(raw, self.units)

    def angle(self, raw: Any) -> float:
        """An angle [deg]: a number, text with a unit, or a formula."""
        if isinstance(raw, str) and re.search(r"[A-Za-z_(]", raw):
            return self._of_kind(raw, "angle", 0, 1)
        return parse_angle(raw)

    def number(self, raw: Any) -> float:
        """A plain number or a formula that comes out as one."""
        if isinstance(raw, str):
            return self._of_kind(raw, "plain number", 0, 0)
        if isinstance(raw, bool) or not isinstance(raw, int | float):
            raise InputError(f"{raw!r} is not a number")
        return float(raw)

    def count(self, raw: Any, most: int) -> int:
        """A whole number from 0 to ``most``."""
        number = self.number(raw)
        if abs(number - round(number)) > 1e-9:
            raise InputError(f"{raw!r} comes to {number:g}, which is not a whole number")
        if not 0 <= number <= most:
            raise InputError(f"{raw!r} comes to {number:g}; it must be 0 to {most}")
        return round(number)

    def numbered(self, count: int) -> Iterator[int]:
        """1 to ``count``; meanwhile each is known to formulas as ``n``."""
        kept = self.values.get(INDEX)
        try:
            for k in range(1, count + 1):
                self.values[INDEX] = Value(float(k), bare=True)
                yield k
        finally:
            self.values.pop(INDEX, None)
            if kept is not None:
                self.values[INDEX] = kept

    def truth(self, raw: Any) -> bool:
        """A condition; a number other than 0 holds."""
        if isinstance(raw, bool):
            return raw
        if isinstance(raw, str) and (match := re.fullmatch(r"\s*(\w+)\s*(==|!=)\s*'([^']*)'\s*", raw)):
            name, op, wanted = match.groups()
            if name not in self.texts:
                raise InputError(f'there is no choice "{name}". {nearest(name, self.texts)}')
            return (self.texts[name] == wanted) == (op == "==")
        if isinstance(raw, str):
            return bool(evaluate(raw, self.look_up, self.units).number)
        return bool(self.number(raw))

    def text(self, raw: Any) -> str:
        """A text; one that is just the name of a text parameter gives that parameter's text."""
        return self.texts.get(str(raw), str(raw))

    def point(self, raw: Any) -> tuple[float, float]:
        """A pair of lengths [mm]."""
        if not isinstance(raw, list) or len(raw) != 2:
            raise InputError(f"{raw!r} is not a place; write it as [x, y]")
        return self.length(raw[0]), self.length(raw[1])

    def _of_kind(self, text: str, what: str, length: int, angle: int) -> float:
        value = evaluate(text, self.look_up, self.units)
        if (value.length, value.angle) != (length, angle):
            if value.bare and (length, angle) == (1, 0):
                return parse_length(value.number, self.units)
            if value.number == 0.0 or (value.length, value.angle, angle) == (0, 0, 1):
                return value.number
            raise InputError(f'"{text}" comes out as {_a(value.kind)}, expected {_a(what)}')
        return value.number


def _a(kind: str) -> str:
    return f"an {kind}" if kind[0] in "aeiou" else f"a {kind}"
