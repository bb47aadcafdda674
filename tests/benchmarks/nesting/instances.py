"""Problem files of the form "nesting-instance/1" as pieces, sheets and a cutting tool."""

import json
from pathlib import Path

from flatgen.core.outline import counter_clockwise, polygon, rectangle
from flatgen.model.plan import Piece
from flatgen.model.shop import CuttingTool, Sheet


def read(path: Path) -> dict:
    """The file as it is."""
    return json.loads(path.read_text())


def pieces_of(problem: dict) -> list[Piece]:
    """One piece an item."""
    found = []
    for item in problem["items"]:
        if "rect" in item:
            outline, cutouts = rectangle(0, 0, *item["rect"]), ()
        else:
            outline = counter_clockwise(polygon([tuple(p) for p in item["polygon"]]))
            cutouts = tuple(counter_clockwise(polygon([tuple(p) for p in h])) for h in item.get("holes", ()))
        turns = None if item["rotations"] is None else tuple(float(r) for r in item["rotations"])
        found.append(Piece(item["id"], outline, cutouts, item["demand"], turns))
    return found


def sheets_of(problem: dict) -> list[Sheet]:
    """Stock; a sheet that costs nothing is a remnant."""
    return [
        Sheet(
            s["id"],
            "metal",
            1.0,
            s["width"],
            s["height"],
            margin=problem["margin"],
            copies=s["copies"],
            cost=s["cost"],
            remnant=s["cost"] == 0,
        )
        for s in problem["sheets"]
    ]


def tool_of(problem: dict) -> CuttingTool:
    """Shear or saw for edge-to-edge cutting, else profile cutting."""
    if problem["cutting"] == "guillotine":
        return CuttingTool("saw or shear", "shear", kerf=problem["kerf"], max_stages=problem["max_stages"] or 99)
    return CuttingTool("router", "profile-cut", gap=problem["gap"])
