"""The user's own shop.toml, changed in place: the rest stays as it is written, comments and blank lines too.

``tomlkit`` keeps the style; what comes out is read again before it takes the old file's place.
"""

import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from flatgen import budget
from flatgen.errors import InputError
from flatgen.output.single import replace_text

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

Change = Callable[["TOMLDocument"], None]
MARK = "\ufeff"  # some editors put it at the head of a file


def edited(text: str, change: Change) -> str:
    """A TOML text after a change, its line ends and the mark at its head as they were."""
    import tomlkit

    body = text.removeprefix(MARK)
    crlf = "\r\n" in body
    whole = body if not body or body.endswith("\n") else f"{body}\n"  # a table may come to follow
    document = tomlkit.parse(whole.replace("\r\n", "\n"))
    change(document)
    after = tomlkit.dumps(document)
    tomllib.loads(after)
    return text[: len(text) - len(body)] + (after.replace("\n", "\r\n") if crlf else after)


def replace(file: Path, text: str) -> None:
    """Put a text in place of what a file of the user's holds.

    Raises InputError where the file has a second name, which would keep what was there before.
    """
    if file.stat().st_nlink > 1:
        raise InputError("this file has a second name (a hard link): make the change by hand", file=file)
    replace_text(file, text)


def remember(shop_file: Path, measured: Mapping[str, str]) -> None:
    """Keep the printer's measured bars, lengths as text with unit, in the shop's ``[printer]`` table."""

    def set_bars(document: "TOMLDocument") -> None:
        import tomlkit

        if "printer" not in document:
            document["printer"] = tomlkit.table()
        for key, value in measured.items():
            document["printer"][key] = value

    replace(shop_file, edited(budget.content(shop_file).decode("utf-8"), set_bars))
