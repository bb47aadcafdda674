"""Reads the tables of this folder, TOML and CSV inside the installed package; complaints name file and line."""

import csv
import re
import tomllib
from collections.abc import Iterator
from importlib.resources import files
from typing import Any

from flatgen.errors import InputError

MM_PER_INCH = 25.4


def text_of(name: str) -> str:
    """Content of a table file that is installed with the package."""
    return files("flatgen.tables").joinpath(name).read_text(encoding="utf-8")


def read_toml(name: str, text: str | None = None) -> dict[str, dict[str, Any]]:
    """Entries of a TOML table file by key; InputError when it is not TOML."""
    try:
        return tomllib.loads(text_of(name) if text is None else text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"not TOML: {error}", file=name) from error


def line_of(text: str, key: str, inner: str = "") -> int | None:
    """Line of an entry ``[key]`` in a TOML text, or of ``inner = …`` within it; None when it is not found."""
    heads = {f"[{key}]", f'["{key}"]'}
    inside = False
    head_line = None
    for number, line in enumerate(text.splitlines(), start=1):
        word = line.strip()
        if word.startswith("[") and word.split("#")[0].strip() in heads:
            inside, head_line = True, number
            if not inner:
                return number
        elif inside and word.startswith("["):
            break
        elif inside and re.match(rf"{re.escape(inner)}\s*=", word):
            return number
    return head_line


def read_csv(name: str, columns: tuple[str, ...], text: str | None = None) -> Iterator[tuple[int, dict[str, str]]]:
    """Rows of a CSV table file as (line, column -> text); InputError when the heads are not those expected."""
    reader = csv.DictReader((text_of(name) if text is None else text).splitlines())
    if tuple(reader.fieldnames or ()) != columns:
        found = ", ".join(reader.fieldnames or ()) or "nothing"
        raise InputError(f"the columns are {found}; they must be {', '.join(columns)}", file=name, line=1)
    for row in reader:
        line = reader.line_num
        if None in row or None in row.values():
            raise InputError(f"the row must have {len(columns)} cells", file=name, line=line)
        yield line, row


def number(text: str) -> float:
    """A number as a table prints it: decimal, or a fraction such as 1/64; ValueError otherwise.

    >>> number("1/64"), number(".040")
    (0.015625, 0.04)
    """
    if "/" in text:
        above, below = text.split("/")
        return float(above) / float(below)
    return float(text)


def half_last_digit(text: str) -> float:
    """Half a unit of the last decimal printed: how far the true value may lie from it; 0 for a fraction.

    >>> half_last_digit(".156"), half_last_digit("5/32")
    (0.0005, 0.0)
    """
    if "/" in text or "." not in text:
        return 0.0
    return float(0.5 * 10.0 ** -len(text.split(".")[1]))
