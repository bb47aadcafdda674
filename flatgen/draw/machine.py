"""The file for the machine: exactly what the tool that cuts has been said to want, of one blank or of a whole sheet.

Outline, openings and holes are cut. Bend lines and part numbers, where the tool wants them, lie on layers of their own
in a colour that is not the cutting one. Lengths in mm; coordinates are the blank's or the sheet's own.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from flatgen.core.outline import circle
from flatgen.core.points import move
from flatgen.core.words import Units
from flatgen.develop.near_bend import drawn_oval
from flatgen.draw.router import laid, plan_items, router_plan
from flatgen.draw.view import bend_items, cut_items
from flatgen.kept import kept
from flatgen.model.blank import Blank, BlankHole
from flatgen.model.plan import Nest, Placement
from flatgen.model.shop import CuttingTool, Drill
from flatgen.page.drawing import Contour, Drawing, Item, Layer, Text, extents
from flatgen.page.layers import GREEN, used

ONE_LAYER = "outline"  # where everything lies that is cut, for a tool that takes a single layer
NOT_CUT = ("bend-up", "bend-down", "mark")
SAME = 0.04  # diameters this near are one [mm]
LETTERS = 5.0  # height of a part number [mm]


def units_for(tool: CuttingTool, units: Units) -> Units:
    """Units of the numbers in this tool's files: its own, else the job's."""
    return tool.units or units


def for_tool(blank: Blank, tool: CuttingTool, drills: Iterable[Drill]) -> Blank:
    """The blank with the holes that this tool is to make: pilot or final ones of its rivets and bolts.

    A hole that a bend would draw oval at its final size stays a pilot, unless it is said to be drilled before.
    """
    if not tool.holes:
        return blank
    table = tuple(drills)
    holes = tuple(_drilled(hole, blank, tool, table) for hole in blank.holes)
    cutouts = list(blank.cutouts)
    for hole in holes:
        cutouts[hole.cutout] = circle(hole.center, hole.diameter)
    return replace(blank, holes=holes, cutouts=tuple(cutouts))


def left_as_pilots(blank: Blank, tool: CuttingTool, drills: Iterable[Drill]) -> tuple[int, ...]:
    """Numbers of the holes that stay pilots in the file of a tool that makes final ones."""
    if tool.holes != "final":
        return ()
    table = tuple(drills)
    cut = (hole for hole in for_tool(blank, tool, table).holes if not hole.after_bending)
    return tuple(h.number for h in cut if (row := _row(h, table)) and h.diameter < row.final - SAME)


def _row(hole: BlankHole, drills: tuple[Drill, ...]) -> Drill | None:
    """The row of the drill table for a hole of a rivet or bolt."""
    fastener = hole.hole.fastener
    if fastener is None or hole.hole.kind not in ("rivet", "bolt"):
        return None
    return next((d for d in drills if abs(d.diameter - fastener) < SAME), None)


def _drilled(hole: BlankHole, blank: Blank, tool: CuttingTool, drills: tuple[Drill, ...]) -> BlankHole:
    row = _row(hole, drills)
    if row is None:
        return hole
    diameter, label = (row.pilot, row.pilot_label) if tool.holes == "pilot" else (row.final, row.final_label)
    beside = (bend for bend in blank.bends if hole.hole.face in (bend.parent, bend.child))
    larger = diameter > hole.diameter and hole.hole.drilled != "before"
    if larger and any(drawn_oval(bend, hole.center, diameter, blank.thickness) for bend in beside):
        return hole
    return replace(hole, diameter=diameter, label=label)


def machine_pattern(mark: str, blank: Blank, tool: CuttingTool, drills: Iterable[Drill], units: Units) -> Drawing:
    """One blank as this tool cuts it."""
    return _drawing(f"{mark} for {tool.name}", _items(mark, for_tool(blank, tool, drills), tool), tool, units)


def router_path(mark: str, blank: Blank, tool: CuttingTool, drills: Iterable[Drill], units: Units) -> Drawing:
    """The way of the middle of the tool's bit round one blank, with gaps that leave hold-down bridges."""
    items = plan_items(kept(router_plan, for_tool(blank, tool, drills), tool.bit_diameter))
    return _drawing(f"{mark}, path for {tool.name}", items, tool, units)


def machine_nest(
    nest: Nest, blanks: Mapping[str, Blank], tool: CuttingTool, drills: Iterable[Drill], units: Units, path: bool
) -> Drawing:
    """A whole sheet as this tool cuts it: blanks in their places, or with ``path`` the way of the bit's middle."""
    table = tuple(drills)
    once: dict[str, list[Item]] = {}
    for part in dict.fromkeys(placement.part for placement in nest.placements):
        blank = for_tool(blanks[part], tool, table)
        once[part] = plan_items(kept(router_plan, blank, tool.bit_diameter)) if path else _items(part, blank, tool)
    items = [item for placement in nest.placements for item in _placed(once[placement.part], placement)]
    what = "path" if path else "cuts"
    return _drawing(f"Sheet {nest.sheet.id}, {what} for {tool.name}", items, tool, units)


def _items(mark: str, blank: Blank, tool: CuttingTool) -> list[Item]:
    items = [item for item in cut_items(blank) if item.layer != "hole-after-bending"]
    if tool.bend_lines:
        items += bend_items(blank)
    if tool.text:
        face = max(blank.faces, key=lambda face: _room(face.outline))
        x0, y0, x1, y1 = extents([Contour("mark", face.outline)])
        items.append(Text("mark", ((x0 + x1) / 2.0, (y0 + y1) / 2.0), mark, LETTERS, "middle"))
    return items


def _room(outline: tuple[tuple[float, float, float], ...]) -> float:
    x0, y0, x1, y1 = extents([Contour("mark", outline)])
    return (x1 - x0) * (y1 - y0)


def _placed(items: list[Item], placement: Placement) -> list[Item]:
    """Items carried to a place on the sheet; a blank laid other side up has its bends the other way."""
    motion = placement.motion
    found: list[Item] = []
    for item in items:
        if isinstance(item, Text):
            found.append(replace(item, at=move(motion, item.at), angle=placement.rotation))
            continue
        layer = item.layer
        if placement.mirrored:
            layer = {"bend-up": "bend-down", "bend-down": "bend-up"}.get(layer, layer)
        found.append(replace(laid(item, motion), layer=layer))
    return found


def _drawing(title: str, items: list[Item], tool: CuttingTool, units: Units) -> Drawing:
    if tool.layers == "one":
        items = [replace(item, layer=ONE_LAYER) for item in items]
    x0, y0, x1, y1 = extents([item for item in items if not isinstance(item, Text)])
    return Drawing(
        title=title,
        size=(x1 - x0, y1 - y0),
        items=tuple(items),
        layers=tuple(_plain(layer) for layer in used(items)),
        units=units_for(tool, units),
        origin=(x0, y0),
        for_machine=True,
    )


def _plain(layer: Layer) -> Layer:
    """The layer in a colour that says whether it is cut."""
    return replace(layer, color=GREEN[0], color_index=GREEN[1]) if layer.name in NOT_CUT else layer
