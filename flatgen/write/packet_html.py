"""HTML from text that nobody vouches for: what is not ``Html`` already is escaped where it is put in."""

import json
from collections.abc import Iterable, Sequence
from html import escape
from typing import Any

VOID = frozenset({"input", "br", "meta", "img", "col", "hr"})


class Html(str):
    """Markup that was made here; any other text is escaped when it is put into a tag."""

    __slots__ = ()


Content = str | Iterable["Content"] | None


def tag(name: str, /, *content: Content, **attributes: Any) -> Html:
    """An element. Attribute names: ``_`` stands for ``-``, a last ``_`` is dropped; True is bare, None and False none.

    >>> tag("td", "a < b", class_="wide", data_k=3)
    '<td class="wide" data-k="3">a &lt; b</td>'
    """
    given = []
    for key, value in attributes.items():
        key = key.removesuffix("_").replace("_", "-")
        if value is True:
            given.append(f" {key}")
        elif value is not None and value is not False:
            given.append(f' {key}="{escape(str(value))}"')
    start = f"<{name}{''.join(given)}>"
    return Html(start) if name in VOID else Html(f"{start}{join(*content)}</{name}>")


def join(*content: Content) -> Html:
    """Pieces of content one after the other, escaped where they are not markup."""
    out: list[str] = []
    for piece in content:
        if piece is None:
            continue
        if isinstance(piece, Html):
            out.append(piece)
        elif isinstance(piece, str):
            out.append(escape(_readable(piece)))
        else:
            out.append(join(*piece))
    return Html("".join(out))


def word(text: str) -> Html:
    """Text as a person wrote it, kept from turning the direction of what stands beside it."""
    return tag("bdi", text)


def _readable(text: str) -> str:
    """Without the control characters that no page may hold."""
    return "".join(c if c >= " " or c in "\n\t" else "\ufffd" for c in text)


def data(name: str, value: Any) -> Html:
    """A value for the page's scripts; it can end neither the element nor a comment."""
    text = json.dumps(value, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    text = text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")
    return Html(f'<script type="application/json" id="{escape(name)}">{text}</script>')


def folded(content: Html) -> Html:
    """Markup that the page's script puts in its own place when what holds it is opened, and nothing before that."""
    assert "</script" not in content and "<!--" not in content  # no text that is escaped holds either
    return Html(f'<script type="text/html">{content}</script>')


def table(
    caption: Content,
    heads: Sequence[str],
    rows: Iterable[Sequence[Content]],
    numbers: Iterable[int] = (),
) -> Html:
    """A table that turns into a list of labelled values where the screen is narrow; the first cell heads its row.

    numbers : columns that are set to the right
    """
    right = frozenset(numbers)
    sides = ["number" if k in right else None for k in range(len(heads))]
    head = [tag("th", text, scope="col", role="columnheader", class_=sides[k]) for k, text in enumerate(heads)]
    body = []
    for row in rows:
        cells = [
            tag(
                "td" if k else "th",
                cell,
                scope=None if k else "row",
                role="cell" if k else "rowheader",
                data_label=heads[k] or None,
                class_=sides[k],
            )
            for k, cell in enumerate(row)
        ]
        body.append(tag("tr", cells, role="row"))
    return tag(
        "table",
        tag("caption", caption),
        tag("thead", tag("tr", head, role="row"), role="rowgroup"),
        tag("tbody", body, role="rowgroup"),
        role="table",
    )


def facts(pairs: Iterable[tuple[str, Content]]) -> Html:
    """Names with their values."""
    rows = [
        tag(
            "div",
            tag("dt", name),
            tag("dd", value),
            class_="all" if isinstance(value, Html) and "<ul" in value else None,
        )
        for name, value in pairs
    ]
    return tag("dl", rows, class_="facts")
