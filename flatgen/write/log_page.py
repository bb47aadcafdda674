"""The record of a job as one page that needs no network, its photographs in it."""

from pathlib import Path

from flatgen.output.single import HTML_MARK
from flatgen.page.content import Subject
from flatgen.write.packet_html import Html, tag, word
from flatgen.write.screen import layer_styles, shown

STYLE = Path(__file__).parent / "packet_files" / "page.css"
POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"


def as_text(subject: Subject) -> str:
    """The whole page."""
    style = STYLE.read_text(encoding="utf-8") + layer_styles()
    head = tag(
        "head",
        tag("meta", charset="utf-8"),
        tag("meta", http_equiv="Content-Security-Policy", content=POLICY),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("title", subject.title),
        Html(f"<style>{style}</style>"),
    )
    under = tag("p", word(subject.under), class_="under")
    said = [shown(content) for content in subject.contents]
    body = tag("body", tag("header", tag("h1", word(subject.title)), under), tag("main", said))
    return f"<!doctype html>{HTML_MARK}\n" + tag("html", head, body, lang="en") + "\n"
