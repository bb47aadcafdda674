"""index.html: the packet as one page that needs no network. All text is escaped where it is put in."""

from collections.abc import Sequence
from html import escape

from flatgen.model.packet import Enclosure
from flatgen.model.results import Developed, Results
from flatgen.units import format_length
from flatgen.write.results_json import totals

STYLE = """
:root { color-scheme: light dark; }
body { font: 16px/1.45 system-ui, sans-serif; margin: 1rem auto; max-width: 70rem; padding: 0 1rem; }
table { border-collapse: collapse; width: 100%; }
th, td { border: 1px solid #8888; padding: .3rem .5rem; text-align: left; }
figure { margin: 1rem 0; background: #fff; border: 1px solid #8888; overflow: auto; }
figure img { max-width: 100%; height: auto; display: block; } figcaption { color: #111; padding: .3rem .5rem; }
.wide { overflow-x: auto; } .stop { font-weight: bold; }
"""


def as_text(results: Results, enclosures: Sequence[Enclosure]) -> str:
    """The page; pictures are the drawings, put in as they are."""
    job = results.job
    parts = [
        "<!doctype html>",
        '<html lang="en"><head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{escape(job.title)}</title><style>{STYLE}</style></head><body>",
        f"<h1>{escape(job.title)}</h1>",
        _summary(results),
        _findings(results),
        "<h2>Parts</h2>",
        *(_part(made, enclosures, job.units) for made in results.parts),
        "<h2>Sheets</h2>",
        *_nests(enclosures),
        "<p>Geometry only: nothing here says that a part is strong enough. The drawing, the designer and the inspector"
        " decide. Test-bend first; keep hands clear of leaf and shear; wear eye protection; edges are sharp.</p>",
        "</body></html>",
    ]
    return "\n".join(parts) + "\n"


def _summary(results: Results) -> str:
    total = totals(results)
    sheets = ", ".join(f"{count} × {escape(name)}" for name, count in total["sheets"].items())
    cost = "" if total["cost"] is None else f", {escape(results.job.shop.currency)}{total['cost']:.2f}"
    return (
        f"<p>{total['pieces_wanted']} pieces wanted, {total['pieces']} to cut; sheets: {sheets}{cost};"
        f" finished mass {total['mass'] / 1000:.2f} kg.</p>"
        '<p><a href="cut-list.csv">Cut list</a> · <a href="results.json">results.json</a></p>'
    )


def _findings(results: Results) -> str:
    rows = []
    for f in results.findings:
        state = f"waived: {escape(f.waived)}" if f.waived else escape(str(f.severity))
        cells = (escape(f.part), escape(f.rule), state, escape(f.where), escape(f.message), escape(f.source))
        css = ' class="stop"' if f.stops else ""
        rows.append(f"<tr{css}>" + "".join(f"<td>{cell}</td>" for cell in cells) + "</tr>")
    head = "".join(f'<th scope="col">{h}</th>' for h in ("part", "rule", "state", "where", "what", "source"))
    body = "".join(rows) or '<tr><td colspan="6">none</td></tr>'
    return (
        f'<h2>Findings</h2><div class="wide"><table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table></div>'
    )


def _part(made: Developed, enclosures: Sequence[Enclosure], units: str) -> str:
    from flatgen.write import svg

    part, blank = made.part, made.blank
    size = f"{format_length(blank.width, units)} × {format_length(blank.height, units, unit=True)}"
    head = f"<h3>{escape(part.id)} {escape(part.title)}</h3><p>{part.quantity} off, {escape(part.material.name)}"
    head += f" {format_length(part.thickness, units, unit=True)}, blank {size}</p>"
    if made.stopped:
        return head + '<p class="stop">Stopped by a finding: no cutting drawing.</p>'
    found = next(e for e in enclosures if e.kind == "blank" and e.about == part.id and "svg" in e.formats)
    return head + _figure(svg.as_text(found.drawings[0]), found.name, f"Blank of {part.id}")


def _nests(enclosures: Sequence[Enclosure]) -> list[str]:
    from flatgen.write import svg

    return [_figure(svg.as_text(e.drawings[0]), e.name, e.title) for e in enclosures if e.kind == "nest"]


def _figure(svg: str, link: str, caption: str) -> str:
    import base64

    data = base64.b64encode(svg.encode("utf-8")).decode("ascii")
    image = f'<img alt="{escape(caption)}" src="data:image/svg+xml;base64,{data}">'
    links = f'<a href="{escape(link)}.svg">SVG</a> <a href="{escape(link)}.dxf">DXF</a>'
    return f"<figure>{image}<figcaption>{escape(caption)} · {links}</figcaption></figure>"
