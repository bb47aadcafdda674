"""Keys of faces, flanges and features, shared by profiles and by the parts of a job."""

from flatgen.read.keys import Key
from flatgen.read.patterns import PATTERN_KEYS

FACE_KEYS = (
    Key("size", "size", "width and height of a rectangle from (0, 0), [x, y], edges left, right, bottom, top"),
    Key(
        "points",
        "size",
        "corners of any other outline, counter-clockwise, [[x, y], …]; a third value rounds that corner",
    ),
    Key("edges", "texts", "names of the edges, the first from the first corner to the second", ()),
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
        choices=("outside", "inside", "tangent"),
    ),
    Key(
        "edge_measured",
        "choice",
        "what the edge it stands on marks at this bend",
        "outside",
        choices=("outside", "inside", "tangent"),
    ),
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
        choices=("none", "slot", "obround", "round"),
    ),
    Key("mates", "flag", "this face lies on another part; the brake gauges from it", False),
    Key("bend", "text", "name of the bend on drawings; b1, b2, … when left out", ""),
    Key("when", "size", "the flange is left out when this does not hold", True),
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
    Key("kind", "choice", "what the hole is for", "plain", choices=("plain", "rivet", "bolt", "lightening", "tooling")),
    *PATTERN_KEYS,
    Key("when", "size", "left out when this does not hold", True),
)
OPENING_KEYS = (
    Key("face", "text", "face or flange", required=True),
    Key("name", "text", "what it is called on the drawing", ""),
    Key("shape", "choice", "its shape", "slot", choices=("slot", "rectangle", "round", "points")),
    Key("at", "size", "its centre, [x, y]"),
    Key("size", "size", "length and width, [x, y]; one value for a round one"),
    Key("turned", "size", "turned counter-clockwise by this angle", 0),
    Key("corner_round", "size", "radius of the corners of a rectangle or of points"),
    Key("points", "size", "corners, [[x, y], …]"),
    Key("when", "size", "left out when this does not hold", True),
)
RELIEF_KEYS = (
    Key("flange", "texts", "flanges whose bends are relieved", required=True),
    Key("kind", "choice", "its shape", "slot", choices=("slot", "obround", "round")),
    Key("ends", "choice", "which ends of the bend", "both", choices=("both", "low", "high")),
    Key("width", "size", "width or diameter; by rule when left out"),
    Key("depth", "size", "how far it reaches past the inside tangent line; by rule when left out"),
    Key("when", "size", "left out when this does not hold", True),
)
