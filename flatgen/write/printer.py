"""The printer's measured bars, kept in shop.toml: only these two lines change, everything else stays as written."""

import re
import tomllib
from pathlib import Path

from flatgen.errors import InputError

HEADER = re.compile(r"^\s*\[\s*printer\s*\]\s*(#.*)?$")
ANY_HEADER = re.compile(r"^\s*\[")


def remember(shop_file: Path, measured: dict[str, str]) -> None:
    """Write ``measured_x`` and ``measured_y``, lengths as text with unit, into the shop's ``[printer]`` table.

    Raises InputError where the file's ``printer`` is written in a way that this cannot change safely.
    """
    before = shop_file.read_text(encoding="utf-8")
    after = edited(before, measured)
    old = tomllib.loads(before)
    try:
        new = tomllib.loads(after)
    except tomllib.TOMLDecodeError:
        new = {}
    expected = old | {"printer": old.get("printer", {}) | measured}
    if new != expected:
        raise InputError("write the measured bars into its [printer] table by hand", file=shop_file, where="printer")
    aside = shop_file.with_name(shop_file.name + ".new")
    aside.write_text(after, encoding="utf-8")
    aside.replace(shop_file)


def edited(text: str, measured: dict[str, str]) -> str:
    """Text of a shop file with the keys set in its ``[printer]`` table, which is added at the end where there is none.

    >>> print(edited('[printer]\\npaper = "a4" # home\\n', {"measured_x": "99.7 mm"}), end="")
    [printer]
    measured_x = "99.7 mm"
    paper = "a4" # home
    """
    lines = text.splitlines()
    start = next((k for k, line in enumerate(lines) if HEADER.match(line)), None)
    new = [f'{key} = "{value}"' for key, value in measured.items()]
    if start is None:
        return "\n".join([*lines, "", "[printer]", *new]) + "\n"
    end = next((k for k in range(start + 1, len(lines)) if ANY_HEADER.match(lines[k])), len(lines))
    keys = "|".join(measured)
    kept = [line for line in lines[start + 1 : end] if not re.match(rf"^\s*({keys})\s*=", line)]
    return "\n".join([*lines[: start + 1], *new, *kept, *lines[end:]]) + "\n"
