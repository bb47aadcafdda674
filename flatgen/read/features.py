"""Keys of faces, flanges and features, shared by profiles and by the parts of a job."""

from flatgen.read.keys import Key
from flatgen.read.patterns import PATTERN_KEYS

MEASURED = ("outside", "inside", "tangent", "fold")
HEMS = ("closed", "open")
RELIEFS = ("square-ended", "round-ended", "drilled")
FACE_KEYS = (
    Key("size", "size", "width and height of a rectangle from (0, 0), [x, y], edges left, right, bottom, top"),
    Key(
        "points",
        "size",
        "corners of any other outline, [[x, y], …]; a third value rounds that corner; { to, through } or { to, radius, "
        "turn } comes there by an arc",
    ),
    Key("edges", "texts", "names of the edges, the first from the first corner to the second", ()),
    Key("outline", "text", "file with the outline and its openings, .dxf or .svg, beside this file"),
    Key("layer", "text", "layer of that DXF, or id of a group of that SVG, to take alone", ""),
    Key(
        "file_units",
        "choice",
        "unit of that file where it does not say; of a DXF, even where it says another",
        "",
        choices=("", "mm", "in", "cm"),
    ),
    Key("edges_at", "table", "names of edges of that outline, each with a place on it, { top = [x, y] }", {}),
    Key("corner_round", "size", "radius of every corner that no bend touches"),
    Key("corner_clip", "size", "leg of a 45-degree clip at every corner that no bend touches"),
    Key("mates", "flag", "this face lies on another part; the brake gauges from it", False),
)
FLANGE_KEYS = (
    Key("on", "text", 'edge it stands on, "face.edge"', required=True),
    Key("height", "size", "from the line that is measured to (see measured) to the free edge"),
    Key("height_high", "size", "height at the high end, when the free edge is tapered"),
    Key("points", "size", "outline when it is no plain flange: x along the bend, y from the measured line"),
    Key("edges", "texts", "names of the edges of such an outline", ()),
    Key("inset", "size", "how far the ends of the free edge stand in, one value or [low, high]"),
    Key("angle", "size", "bend angle, turned through from flat; negative bends the other way", 90),
    Key("between", "size", "angle between the legs, in place of angle"),
    Key("fold", "choice", "toward the viewer of the upper side, or away", "up", choices=("up", "down")),
    Key("radius", "size", "inside radius on the drawing, when it differs from the part's"),
    Key("span", "size", "where the bend lies along the edge, [low, high]; the whole edge when left out"),
    Key(
        "measured",
        "choice",
        "what the height is measured to at this bend",
        "outside",
        choices=MEASURED,
    ),
    Key("edge_measured", "choice", "what the edge it stands on marks at this bend", "outside", choices=MEASURED),
    Key(
        "beside",
        "choice",
        "where the edge beside a partial bend lies: at its tangent line, or where it is drawn",
        "tangent",
        choices=("tangent", "edge"),
    ),
    Key("corner_round", "size", "radius of both free corners"),
    Key("corner_clip", "size", "leg of a 45-degree clip at both free corners"),
    Key(
        "relief",
        "choice",
        "relief at both ends of the bend, sized by rule",
        "none",
        choices=("none", *RELIEFS),
    ),
    Key("hem", "choice", "fold it back on itself, pressed flat or with a gap; measured over the fold", choices=HEMS),
    Key("gap", "size", "opening inside an open hem"),
    Key("repeat", "size", "how many of it there are; n is the number of each, from 1, in its formulas"),
    Key("deduction", "size", "bend deduction of this bend, to be used as it is"),
    Key("neutral_axis_ratio", "size", "of this bend, for the neutral-axis method"),
    Key("mates", "flag", "this face lies on another part; the brake gauges from it", False),
    Key("bend", "text", "name of the bend on drawings; b1, b2, … when left out", ""),
    Key("when", "size", "the flange is left out when this does not hold", True),
)
JOGGLE_KEYS = (
    Key("on", "text", 'edge it stands on, "face.edge"', required=True),
    Key("offset", "size", "how far one skin is set off from itself, usually the mate's thickness", required=True),
    Key("length", "size", "length of the ramp along the part, between mould lines of one skin", required=True),
    Key("height", "size", "flat beyond the ramp, from the mould line of that skin to the free edge", required=True),
    Key("fold", "choice", "toward the viewer of the upper side, or away", "up", choices=("up", "down")),
    Key("radius", "size", "inside radius of both bends, when it differs from the part's"),
    Key("span", "size", "where it lies along the edge, [low, high]; the whole edge when left out"),
    Key("corner_round", "size", "radius of both free corners"),
    Key("corner_clip", "size", "leg of a 45-degree clip at both free corners"),
    Key("mates", "flag", "the flat beyond lies on another part; the brake gauges from it", False),
    Key("when", "size", "the joggle is left out when this does not hold", True),
)
CORNER_KEYS = (
    Key("face", "text", "face or flange", required=True),
    Key("between", "texts", "the two edges that meet there", required=True),
    Key("round", "size", "radius"),
    Key("clip", "size", "leg of a straight cut, or two legs in the order of the edges"),
    Key("when", "size", "left out when this does not hold", True),
)
HOLES_KEYS = (
    Key("face", "text", "face or flange", required=True),
    Key("name", "text", "what the pattern is called on the drawing", ""),
    Key("drill", "size", "finished size: number, letter, fraction or metric drill"),
    Key("rivet", "size", "rivet diameter; the shop's drill table gives the hole"),
    Key("bolt", "size", "bolt diameter, with drill for its hole"),
    Key("stage", "choice", "which hole of the drill table is made in the blank", "pilot", choices=("pilot", "final")),
    Key(
        "drilled",
        "choice",
        "before or after bending; after it where a bend is so near that the hole would be drawn oval, when left out",
        "",
        choices=("", "before", "after"),
    ),
    Key("kind", "choice", "what the hole is for", "plain", choices=("plain", "rivet", "bolt", "lightening", "tooling")),
    *PATTERN_KEYS,
    Key("same_as", "text", 'take the places of a named pattern of another part of the job, "part.pattern"', ""),
    Key("mirrored", "choice", "mirror those places in x or in y first", "none", choices=("none", "x", "y")),
    Key("turned", "size", "then turn them counter-clockwise by this angle", 0),
    Key("shift", "size", "then shift them, [x, y]"),
    Key("when", "size", "left out when this does not hold", True),
)
SHAPES = ("slot", "rectangle", "round", "points", "notch", "vee")
OPENING_KEYS = (
    Key("face", "text", "face or flange", required=True),
    Key("name", "text", "what it is called on the drawing", ""),
    Key("shape", "choice", "its shape", "slot", choices=SHAPES),
    Key("at", "size", "its centre, [x, y], or a list of them"),
    Key("size", "size", "length and width, [x, y]; one value for a round one; width and depth of a notch"),
    Key("edge", "text", "edge that a notch is cut into", ""),
    Key("along", "size", "middle of the notch along that edge, in the edge's run; one or a list"),
    Key("turned", "size", "turned counter-clockwise by this angle", 0),
    Key("corner_round", "size", "radius of the corners of a rectangle or of points"),
    Key("points", "size", "corners, [[x, y], …]"),
    Key("repeat", "size", "how many of it there are; n is the number of each, from 1, in its formulas"),
    Key("when", "size", "left out when this does not hold", True),
)
RELIEF_KEYS = (
    Key("flange", "texts", "flanges whose bends are relieved", required=True),
    Key("kind", "choice", "its shape", "square-ended", choices=RELIEFS),
    Key("ends", "choice", "which ends of the bend", "both", choices=("both", "low", "high")),
    Key("width", "size", "width or diameter; by rule when left out"),
    Key(
        "depth", "size", "past the inside tangent line, for a round end at least half its width; by rule when left out"
    ),
    Key("when", "size", "left out when this does not hold", True),
)
TAB_KEYS = (
    Key("face", "text", "face or flange", required=True),
    Key("edge", "text", "free edge that it stands out of", required=True),
    Key("along", "size", "its middle along that edge, in the edge's run; one or a list", required=True),
    Key("size", "size", "width and length, [width, length]", required=True),
    Key("corner_round", "size", "radius of its two corners", 0),
    Key("when", "size", "left out when this does not hold", True),
)
MITRE_KEYS = (
    Key("flanges", "size", 'pairs of flanges that meet when formed, [["one", "other"], …]', required=True),
    Key("gap", "size", "distance of their nearest edges when formed", 0),
    Key("when", "size", "left out when this does not hold", True),
)
FEATURES: dict[str, tuple[Key, ...]] = {
    "corner": CORNER_KEYS,
    "holes": HOLES_KEYS,
    "opening": OPENING_KEYS,
    "relief": RELIEF_KEYS,
    "tabs": TAB_KEYS,
    "mitre": MITRE_KEYS,
}
# how each list is explained where a file may hold it
FEATURE_LISTS: tuple[Key, ...] = (
    Key("corner", "tables", "corners rounded or clipped one by one", []),
    Key("holes", "tables", "hole patterns", []),
    Key("opening", "tables", "cut-outs, slots, lightening holes and notches", []),
    Key("relief", "tables", "relief cuts at bend ends", []),
    Key("tabs", "tables", "tabs in the plane of a face", []),
    Key("mitre", "tables", "flanges whose ends are cut to meet when formed", []),
)
