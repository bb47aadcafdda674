"""Texts of a page, and which of them lie over one another."""

from shapely import STRtree
from shapely.geometry import Polygon

from flatgen.page.drawing import LinearDimension, OrdinateDimension, Text


def texts_of(drawing):
    """All texts, those of dimensions included."""
    for item in drawing.items:
        for part in item.strokes() if isinstance(item, LinearDimension | OrdinateDimension) else (item,):
            if isinstance(part, Text):
                yield part


def clashes(drawing, hair=0.05):
    """Pairs of texts whose boxes overlap by more than two hairs [mm], on slanted texts by their true corners."""
    boxes = [(t.text, Polygon(t.corners()).buffer(-hair, join_style="mitre")) for t in texts_of(drawing) if t.text]
    if not boxes:
        return []
    tree = STRtree([box for _, box in boxes])
    pairs = tree.query([box for _, box in boxes], predicate="intersects")
    return [(boxes[i][0], boxes[j][0]) for i, j in pairs.T if i < j]
