"""A walker over TOML that knows which keys a table may have, gathers every error and finds the line it stands on.

Each table of a file is declared as a tuple of ``Key``; the file reference is printed from those same tuples.
"""

import math
import re
import tomllib
import unicodedata
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from flatgen import budget
from flatgen.errors import InputError, InputErrors, nearest
from flatgen.said import Text, within
from flatgen.units import LENGTHS, parse_angle, parse_force, parse_length

LONGEST_COUNT = 30  # characters


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a table: how it is read, what it is when left out, and a line that explains it.

    kind : text, texts, flag, count, number, length, lengths, angle, choice, table, tables, force,
        size (kept as written)
    """

    name: str
    kind: str
    explain: str
    default: Any = None
    required: bool = False
    choices: tuple[str, ...] = ()
    least: float | None = None
    most: float | None = None


@dataclass(slots=True)
class TomlFile:
    """One file that is being read: its text for finding lines, and the errors found so far."""

    path: Path
    text: str
    data: dict[str, Any]
    errors: list[InputError] = field(default_factory=list)
    row: int | None = None  # line of the one row that this stands for, in a table of sizes

    def complain(self, message: str, path: tuple[str | int, ...] = (), where: str = "") -> None:
        """Note an error at a key path."""
        self.keep(InputError(message, file=self.path, line=self.line_of(path), where=where))

    def keep(self, error: InputError) -> None:
        """Put an error on the list; when it is long enough nothing more is looked at."""
        self.errors.append(error)
        if len(self.errors) >= budget.MOST_ERRORS:
            raise InputErrors(self.errors, ended=True)

    def check(self) -> None:
        """Stop when anything was noted: one error as itself, several as one list."""
        if len(self.errors) == 1:
            raise self.errors[0]
        if self.errors:
            raise InputErrors(self.errors)

    def line_of(self, path: tuple[str | int, ...]) -> int | None:
        """Line of a key path, as near as the text shows it."""
        if self.row is not None:
            return self.row
        lines = self.text.splitlines()
        at, found, names = 0, None, []
        for k, step in enumerate(path):
            if isinstance(step, int):
                continue
            names.append(step)
            index = path[k + 1] if k + 1 < len(path) and isinstance(path[k + 1], int) else None
            head = re.compile(r"\s*\[+\s*" + r"\s*\.\s*".join(f'"?{re.escape(n)}"?' for n in names) + r"\s*\]+")
            heads = [n for n in range(at, len(lines)) if head.match(lines[n])]
            if heads:
                at = found = heads[min(int(index or 0), len(heads) - 1)]
                continue
            for n in range(at + (1 if found is not None else 0), len(lines)):
                if found is not None and re.match(r"\s*\[", lines[n]) and n > found:
                    break
                if re.match(rf'\s*"?{re.escape(step)}"?\s*[.=]', lines[n]) or re.search(
                    rf'[{{,]\s*"?{re.escape(step)}"?\s*=', lines[n]
                ):
                    found = n
                    break
        return found + 1 if found is not None else None


def open_toml(path: Path, text: str | None = None) -> TomlFile:
    """Read a TOML file, or this text in its place, or say in one sentence why not."""
    text = budget.text(path) if text is None else text
    budget.check_dots(path, text)
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        match = re.search(r"\(at line (\d+), column \d+\)", str(error))
        message = re.sub(r"\s*\(at .*\)", "", str(error))
        line = int(match.group(1)) if match else None
        hint = '; write key = value, a text or a size with its unit in double quotes, as length = "6 in"'
        raise InputError(f"this is not TOML: {message[0].lower()}{message[1:]}{hint}", file=path, line=line) from None
    except RecursionError:
        raise InputError("its brackets are nested too deep to be a description", file=path) from None
    except ValueError as error:  # a date that is none, a number of thousands of digits
        raise InputError(f"this is not TOML: {str(error).split(';')[0].lower()}", file=path) from None
    budget.check_tree(path, data)
    return TomlFile(path, text, data)


@dataclass(frozen=True, slots=True)
class Table:
    """One table of a file, with its place in the file, the unit of its bare numbers and the name used in errors."""

    file: TomlFile
    data: dict[str, Any]
    path: tuple[str | int, ...] = ()
    units: str = "mm"
    name: str = ""  # 'part "clip-3"', said before the key
    decimal_comma: bool = False

    def at(self, key: str | int) -> tuple[str | int, ...]:
        """Path of a key of this table."""
        return (*self.path, key)

    def complain(self, message: Text, key: str | int | None = None) -> None:
        """Note an error of this table, at one of its keys."""
        where = ", ".join(w for w in (self.name, "" if key is None else str(key)) if w)
        self.file.complain(within(message, self.units), self.path if key is None else self.at(key), where)

    def read(self, keys: Iterable[Key], others: Iterable[str] = ()) -> dict[str, Any]:
        """Every declared key with its value or default; unknown and missing keys are noted as errors.

        ``others`` are names that may stand here too and are read elsewhere.
        """
        known = {key.name: key for key in keys}
        for name in self.data:
            if name not in known and name not in others:
                self.complain(f"there is no such key. {nearest(name, [*known, *others])}", name)
        values = {}
        for key in known.values():
            if key.name in self.data:
                values[key.name] = self._value(key, self.data[key.name])
                continue
            values[key.name] = key.default
            if key.required:
                self.complain(f"this key is missing: {key.explain}", key.name)
        return values

    def must_read(self, keys: Iterable[Key]) -> dict[str, Any]:
        """As ``read``, but what is wrong in this table is raised at once instead of noted."""
        before = len(self.file.errors)
        values = self.read(keys)
        found = self.file.errors[before:]
        del self.file.errors[before:]
        if found:
            raise found[0] if len(found) == 1 else InputErrors(found)
        return values

    def _value(self, key: Key, raw: Any) -> Any:
        try:
            value = READERS[key.kind](self, key, raw)
            for one in value if isinstance(value, tuple) else (value,):
                _within(key, one, raw, self.units)
        except InputError as error:
            self.complain(error.message, key.name)
            return key.default
        return value

    def child(self, key: str | int, data: Any, name: str = "") -> "Table":
        """The table under a key."""
        return Table(self.file, data, self.at(key), self.units, name or self.name, self.decimal_comma)


def _within(key: Key, value: Any, raw: Any, units: str) -> None:
    """Refuse a number outside the key's limits, saying the limit."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return
    shown = f'"{raw}"' if isinstance(raw, str) else f"{raw}"
    if key.least is not None and value < key.least:
        least = "more than 0" if 0 < key.least < 1e-6 else f"at least {_limit(key, key.least, units)}"
        raise InputError(f"{shown} is too small; it must be {least}")
    if key.most is not None and value > key.most:
        raise InputError(f"{shown} is too large; it must be at most {_limit(key, key.most, units)}")


def _limit(key: Key, value: float, units: str) -> str:
    """A limit in the unit that the file is written in."""
    if key.kind in ("length", "lengths") and value:
        return f"{value / LENGTHS[units]:.4g} {units}"
    return f"{value:g}{'°' if key.kind == 'angle' else ''}"


def _text(table: Table, key: Key, raw: Any) -> str:
    if isinstance(raw, str):
        # a text stands on one line of a drawing, and some signs may not stand in any file of drawings
        text = re.sub(r"\s*[\r\n\t\f\v\x85\u2028\u2029]+\s*", " ", raw)
        if text.strip() and not any(unicodedata.category(sign)[0] in "LNPS" for sign in text):
            raise InputError(f"{raw!r} has no sign that can be seen")
        for sign in text:
            if unicodedata.category(sign) in ("Cc", "Cs") or ord(sign) & 0xFFFE == 0xFFFE:
                raise InputError(f"{raw!r} has a sign that cannot be written on a drawing ({sign!r})")
        return text
    if isinstance(raw, int | float) and not isinstance(raw, bool):
        return str(raw)
    raise InputError(f"{raw!r} is not a text")


def _choice(table: Table, key: Key, raw: Any) -> str:
    if raw not in key.choices:
        choices = [choice for choice in key.choices if choice]
        raise InputError(f"{raw!r} is not one of {', '.join(choices)}. {nearest(str(raw), choices)}")
    return str(raw)


def _flag(table: Table, key: Key, raw: Any) -> bool:
    found = {"true": True, "false": False}.get(str(raw).strip().lower())  # a spreadsheet writes TRUE
    if found is None:
        raise InputError(f"{raw!r} is neither true nor false")
    return found


def _count(table: Table, key: Key, raw: Any) -> int:
    text = str(raw).strip()
    if isinstance(raw, bool) or not re.fullmatch(r"[+-]?\d+(\.0*)?", text):
        raise InputError(f"{raw!r} is not a whole number")
    if re.search(r"\.0{3}$", text):
        raise InputError(f'"{text}" may mean {text.replace(".", "")} or {text.partition(".")[0]}; write a whole number')
    if len(text) > LONGEST_COUNT:
        raise InputError(f"{text[:LONGEST_COUNT]}… is larger than any count of things")
    return int(float(text))


def _number(table: Table, key: Key, raw: Any) -> float:
    try:
        if isinstance(raw, bool):
            raise ValueError
        number = float(raw.replace(",", ".") if table.decimal_comma and isinstance(raw, str) else raw)
    except (TypeError, ValueError, OverflowError):
        raise InputError(f"{raw!r} is not a number") from None
    if not math.isfinite(number):
        raise InputError(f"{raw!r} is not a finite number")
    return number


def _length(table: Table, key: Key, raw: Any) -> float:
    return parse_length(raw, table.units, decimal_comma=table.decimal_comma)


def _angle(table: Table, key: Key, raw: Any) -> float:
    return parse_angle(raw, decimal_comma=table.decimal_comma)


def _table(table: Table, key: Key, raw: Any) -> dict[str, Any]:
    if not isinstance(raw, dict):
        raise InputError(f"{raw!r} is not a table; write it as [{key.name}] with its keys below")
    return raw


def _tables(table: Table, key: Key, raw: Any) -> list[dict[str, Any]]:
    if not isinstance(raw, list) or not all(isinstance(row, dict) for row in raw):
        raise InputError(f"this is not a list of tables; write each as [[{key.name}]] with its keys below")
    return raw


def _size(table: Table, key: Key, raw: Any) -> Any:
    if isinstance(raw, str | int | float | bool | list | dict):
        return raw
    raise InputError(f"{raw!r} is neither text nor number")


def _many(one: Callable[[Table, Key, Any], Any]) -> Callable[[Table, Key, Any], tuple[Any, ...]]:
    def reader(table: Table, key: Key, raw: Any) -> tuple[Any, ...]:
        if not isinstance(raw, list):
            raise InputError(f"{raw!r} is not a list; write it in square brackets")
        return tuple(one(table, key, item) for item in raw)

    return reader


READERS: dict[str, Callable[[Table, Key, Any], Any]] = {
    "text": _text,
    "texts": _many(_text),
    "flag": _flag,
    "count": _count,
    "number": _number,
    "length": _length,
    "lengths": _many(_length),
    "angle": _angle,
    "force": lambda table, key, raw: parse_force(raw, table.units),
    "choice": _choice,
    "table": _table,
    "tables": _tables,
    "size": _size,
}
