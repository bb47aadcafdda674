"""The printer's measured bars, kept in shop.toml: only these two lines change, everything else stays as written."""

import re
import tomllib
from pathlib import Path

from flatgen import budget
from flatgen.errors import InputError
from flatgen.output.single import replace_text

HEADER = re.compile(r"^\s*\[\s*printer\s*\]\s*(#.*)?$")
MARK = "\ufeff"  # some editors put it at the head of a file
ANY_HEADER = re.compile(r"^\s*\[")


def remember(shop_file: Path, measured: dict[str, str]) -> None:
    """Write ``measured_x`` and ``measured_y``, lengths as text with unit, into the shop's ``[printer]`` table.

    Raises InputError where the file's ``printer`` is written in a way that this cannot change safely.
    """
    whole = budget.content(shop_file).decode("utf-8")
    before = whole.removeprefix(MARK)
    after = edited(before, measured)
    old = tomllib.loads(before)
    try:
        new = tomllib.loads(after)
    except tomllib.TOMLDecodeError:
        new = {}
    expected = old | {"printer": old.get("printer", {}) | measured}
    if new != expected or shop_file.stat().st_nlink > 1:  # a second name would keep what was there before
        raise InputError("write the measured bars into its [printer] table by hand", file=shop_file, where="printer")
    replace_text(shop_file, whole[: len(whole) - len(before)] + after)


def edited(text: str, measured: dict[str, str]) -> str:
    """Text of a shop file with the keys set in its ``[printer]`` table, which is added at the end where there is none.

    Every other line stays as it is, its end too.

    >>> print(edited('[printer]\\npaper = "a4" # home\\n', {"measured_x": "99.7 mm"}), end="")
    [printer]
    measured_x = "99.7 mm"
    paper = "a4" # home
    """
    lines = re.findall(r"[^\n]*\n|[^\n]+", text)  # a TOML line ends in LF or CR LF, and nowhere else
    end_of_line = "\r\n" if lines and lines[0].endswith("\r\n") else "\n"
    start = next((k for k, line in enumerate(lines) if HEADER.match(line)), None)
    new = [f'{key} = "{value}"{end_of_line}' for key, value in measured.items()]
    whole = not lines or lines[-1].endswith("\n")
    if start is None:
        return "".join([*lines, "" if whole else end_of_line, end_of_line, f"[printer]{end_of_line}", *new])
    if start == len(lines) - 1 and not whole:
        lines[start] += end_of_line
    end = next((k for k in range(start + 1, len(lines)) if ANY_HEADER.match(lines[k])), len(lines))
    keys = "|".join(measured)
    kept = [line for line in lines[start + 1 : end] if not re.match(rf"^\s*({keys})\s*=", line)]
    return "".join([*lines[: start + 1], *new, *kept, *lines[end:]])
