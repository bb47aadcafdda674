"""Relief cuts, with what the description leaves out sized by the trade's rules."""

from typing import Any

from flatgen.errors import InputError
from flatgen.model.part import Bend, Relief, ReliefEnds, ReliefKind
from flatgen.read.builder import Builder
from flatgen.read.drills import drill_of
from flatgen.read.rules import relief_depth, relief_hole, relief_slot
from flatgen.read.sentences import at_least_0, positive


def ruled_relief(b: Builder, bend: Bend, kind: ReliefKind, ends: ReliefEnds, width: Any, depth: Any) -> Relief:
    """A relief of one bend; ``width`` and ``depth`` as written, None: by rule."""
    thickness = b.order.thickness
    ruled = relief_hole(bend.radius, thickness) if kind == "drilled" else relief_slot(thickness)
    wide = ruled if width is None else positive(b.scope.length(width), "the relief's width")
    deep = 0.0 if kind == "drilled" else relief_depth(thickness)
    if depth is not None:
        if kind == "drilled":
            raise InputError("a round relief is centred on the tangent line and has no depth; give its width alone")
        deep = at_least_0(b.scope.length(depth), "the relief's depth")
    drill = "" if kind == "square-ended" else drill_of(wide, b.order.units)
    return Relief(bend.id, ends, kind, wide, deep, drill)
