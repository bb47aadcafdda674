"""What the shop has, typed in like tables: metal on hand, cutting tools, brakes and bars, drills, minutes, printer."""

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from flatgen.read import shop as keys
from flatgen.served.begin import SHEETS, shop_file
from flatgen.served.fields import field, rows
from flatgen.served.job import listed
from flatgen.served.shell import desk_of, page

TOOLS = ("name", "method", "longest_cut", "smallest_strip", "kerf", "gap", "bit_diameter", "units", "holes")
DRILLS = ("fastener", "pilot", "final")
HEAD = ("name", "units", "work", "spoilage", "radius_table", "allowance", "nose_tolerance", "currency", "book")
TABLES = (
    ("tolerance", "What the shop holds, ±", keys.TOLERANCE_KEYS),
    ("minutes", "What the work takes, and the price of an hour", keys.MINUTES_KEYS),
    ("offcut", "Smallest off-cut worth keeping", keys.OFFCUT_KEYS),
    ("printer", "Printer", keys.PRINTER_KEYS),
)


def _metal(request: Request) -> Response:
    """Sheets of the shop file, and what the shop's book holds beside them."""
    desk = desk_of(request)
    file = shop_file(desk)
    heads = ("Name", "Material", "Thickness", "By micrometer", "Length, along the grain", "Width", "Edge kept free",
             "On hand", "Price")  # fmt: skip
    job = desk.job()
    own = {str(row.get("id")) for row in file.tree.get("sheet", [])}
    return page(
        request,
        "metal.html",
        file=file,
        rows=rows(desk, file, ("sheet",), SHEETS, {"material": "materials"}),
        heads=heads,
        booked=[sheet for sheet in job.shop.sheets if sheet.id not in own],
        units=job.units,
        listed=listed(),
    )


def _shop(request: Request) -> Response:
    desk = desk_of(request)
    file = shop_file(desk)
    return page(
        request,
        "shop.html",
        file=file,
        head=[field(desk, file, (name,)) for name in HEAD],
        tools=rows(desk, file, ("tool",), TOOLS),
        tool_heads=[name.replace("_", " ").capitalize() for name in TOOLS],
        drills=rows(desk, file, ("drill",), DRILLS),
        drill_heads=("Rivet or bolt", "Pilot drill", "Final drill"),
        tables=[(title, [field(desk, file, (name, key.name)) for key in some]) for name, title, some in TABLES],
    )


ROUTES = [Route("/metal", _metal), Route("/shop", _shop)]
