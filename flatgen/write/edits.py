"""Small changes of a description, made in its text: comments, order and line ends of the rest stay as they are.

A change names its place by keys and numbers (``("part", 0, "leg_a")``). For comparing texts that others changed too, a
thing in a list goes by what it is called, so that one more part before it does not move it.
"""

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from flatgen.errors import InputError
from flatgen.write.shop_file import edited

GUESS = "# a guess until you answer"  # goes when the key is set
NAMES = ("id", "name", "rule", "fastener")  # what things of a list are called by


@dataclass(frozen=True, slots=True)
class Named:
    """A thing of a list, by what it is called."""

    name: str


Step = str | int | Named
Place = tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Set:
    """Give a key a value; tables on the way there are made."""

    path: Place
    value: Any


@dataclass(frozen=True, slots=True)
class Drop:
    """Take a key, or a thing of a list, away."""

    path: Place


@dataclass(frozen=True, slots=True)
class Append:
    """Put a table at the end of a list of tables."""

    path: Place
    table: Mapping[str, Any]


Edit = Set | Drop | Append


def applied(text: str, edits: Iterable[Edit]) -> str:
    """A TOML text after these changes; InputError where a place of them is not there."""
    for edit in edits:
        if isinstance(edit, Drop) and isinstance(edit.path[-1], int | Named):
            text = _without(text, edit.path)
        else:
            text = edited(text, partial(_make, edit=edit))
    return text


def _make(document: Any, edit: Edit) -> None:
    import tomlkit

    path = located(document, edit.path)
    if isinstance(edit, Append):
        holder = _inside(document, path[:-1], make=True)
        _is_key(holder, path[-1], edit.path)
        _append(holder, str(path[-1]), edit.table)
        return
    holder, key = _inside(document, path[:-1], make=isinstance(edit, Set)), path[-1]
    if isinstance(edit, Drop):
        if not isinstance(key, str) or key not in holder:
            raise _gone(edit.path)
        del holder[key]
        return
    _is_key(holder, key, edit.path)
    holder[key] = tomlkit.item(edit.value, _parent=holder) if isinstance(edit.value, list) else edit.value
    trivia = getattr(holder[key], "trivia", None)
    if trivia is not None and trivia.comment == GUESS:
        trivia.comment = trivia.comment_ws = ""


def _is_key(holder: Any, key: Step, path: Place) -> None:
    is_figure = isinstance(key, int) and isinstance(holder, list) and key < len(holder) and not is_rows(holder)
    if not (is_figure or (isinstance(key, str) and isinstance(holder, dict))):
        raise InputError(f"{said(path)} is no key of the file")


def _append(holder: Any, key: str, table: Mapping[str, Any]) -> None:
    import tomlkit

    new = tomlkit.item(dict(table))
    if key not in holder:
        holder[key] = tomlkit.aot()
    rows = holder[key]
    if not is_rows(rows):
        raise InputError(f"{key} is no list of tables")
    before = rows[-1].as_string() if len(rows) else "\n\n"
    if not before.endswith("\n\n"):
        new.trivia.indent = "\n"
    rows.append(new)
    new.add(tomlkit.nl())


def _inside(tree: Any, path: Place, *, make: bool) -> Any:
    import tomlkit

    for k, step in enumerate(path):
        try:
            tree = tree[step]
        except (KeyError, IndexError, TypeError):
            if not (make and isinstance(step, str) and isinstance(tree, dict)):
                raise _gone(path[: k + 1]) from None
            tree[step] = tomlkit.table()
            tree = tree[step]
    return tree


def _gone(path: Place) -> InputError:
    return InputError(f"{said(path)} is not there any more")


def _without(text: str, path: Place) -> str:
    """A text without one thing of a list; remarks that stand over the next thing stay."""
    data = tomllib.loads(text.removeprefix("\ufeff"))
    *outer, k = located(data, path)
    rows = _inside(data, tuple(outer), make=False)
    if not isinstance(k, int) or not isinstance(rows, list) or k >= len(rows):
        raise _gone(path)
    del rows[k]
    if not rows:
        del _inside(data, tuple(outer[:-1]), make=False)[outer[-1]]
    for own in _cuts(text, outer, k):
        try:
            if tomllib.loads(own.removeprefix("\ufeff")) == data:
                return own
        except tomllib.TOMLDecodeError:
            continue

    def take(document: Any) -> None:
        del _inside(document, tuple(outer), make=False)[k]

    return edited(text, take)


def _cuts(text: str, outer: Sequence[Step], k: int) -> Iterator[str]:
    """Texts with one run of lines taken out that may be the thing: from a head of the list to the next other head."""
    name = r"\s*\.\s*".join(rf'["\']?{re.escape(str(step))}["\']?' for step in outer if isinstance(step, str))
    lines = text.splitlines(keepends=True)
    heads = [n for n, line in enumerate(lines) if re.match(r"\s*\[", line)]
    for start in [n for n in heads if re.match(rf"\s*\[\[\s*{name}\s*\]\]", lines[n])]:
        own = rf"\s*\[+\s*{name}\s*\."
        end = next((n for n in heads if n > start and not re.match(own, lines[n])), len(lines))
        while end > start + 1 and re.match(r"\s*(#.*)?$", lines[end - 1]):
            end -= 1
        while end < len(lines) and not lines[end].strip():
            end += 1
        yield "".join(lines[:start] + lines[end:])


def named(tree: Any, path: Place) -> Place:
    """The same place with things of lists by what they are called, where that is told and is no other's name."""
    found: list[Step] = []
    for step in path:
        if isinstance(step, int) and isinstance(tree, list) and step < len(tree):
            found.append(_names(tree)[step])
        else:
            found.append(step)
        tree = _child(tree, step)
    return tuple(found)


def located(tree: Any, path: Place) -> Place:
    """The same place with things of lists by number; InputError where one is not there."""
    found: list[Step] = []
    for k, step in enumerate(path):
        if isinstance(step, Named):
            known = _names(tree) if isinstance(tree, list) else []
            if step not in known:
                raise _gone(path[: k + 1])
            step = known.index(step)
        found.append(step)
        tree = _child(tree, step)
    return tuple(found)


def _names(rows: Sequence[Any]) -> list[Step]:
    called = [_called(row) for row in rows]
    return [Named(name) if name and called.count(name) == 1 else k for k, name in enumerate(called)]


def _called(row: Any) -> str:
    if not isinstance(row, Mapping):
        return ""
    return str(next((row[key] for key in NAMES if key in row), ""))


def _child(tree: Any, step: Step) -> Any:
    if isinstance(step, Named):
        tree, step = list(tree), _names(tree).index(step) if step in _names(tree) else 0
    try:
        return tree[step]
    except (KeyError, IndexError, TypeError):
        return None


def differences(before: Any, after: Any, at: Place = ()) -> dict[Place, tuple[Any, Any]]:
    """Places where two descriptions differ, each with what stands there before and after; None for nothing."""
    if isinstance(before, Mapping) and isinstance(after, Mapping):
        keys = dict.fromkeys((*before, *after))
        pairs: list[tuple[Step, Any, Any]] = [(key, before.get(key), after.get(key)) for key in keys]
    elif is_rows(before) and is_rows(after):
        old, new = dict(zip(_names(before), before, strict=True)), dict(zip(_names(after), after, strict=True))
        pairs = [(name, old.get(name), new.get(name)) for name in dict.fromkeys((*old, *new))]
    else:
        return {} if before == after else {at: (before, after)}
    found: dict[Place, tuple[Any, Any]] = {}
    for step, one, other in pairs:
        found |= differences(one, other, (*at, step))
    return found


def is_rows(value: Any) -> bool:
    """Whether a value is a list of tables."""
    return isinstance(value, list) and all(isinstance(row, Mapping) for row in value)


def touched(tree: Any, edit: Edit) -> Place:
    """The place that a change is about, by names."""
    if isinstance(edit, Append):
        return (*named(tree, edit.path), Named(_called(edit.table)))
    return named(tree, edit.path)


def meet(one: Place, other: Place) -> bool:
    """Whether two places are one, or one lies within the other."""
    return all(a == b for a, b in zip(one, other, strict=False))


def back(before: Any, after: Any) -> list[Edit]:
    """Changes that turn a description as it is after into what it was before."""
    edits: list[Edit] = []
    for path, (old, _) in differences(before, after).items():
        if old is None:
            edits.append(Drop(path))
        elif isinstance(old, Mapping) and isinstance(path[-1], Named | int):
            edits.append(Append(path[:-1], old))
        else:
            edits.append(Set(path, old))
    return edits


def said(path: Place) -> str:
    """A place as a person reads it.

    >>> said(("part", Named("OX-1"), "leg_a"))
    'part "OX-1", leg_a'
    """
    words: list[str] = []
    for step in path:
        if isinstance(step, str):
            words.append(step)
            continue
        tail = f' "{step.name}"' if isinstance(step, Named) else f" {step + 1}"
        words = [*words[:-1], f"{words[-1] if words else ''}{tail}".strip()]
    return ", ".join(words)
