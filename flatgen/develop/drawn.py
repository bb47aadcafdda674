"""The faces of a part as the drawing has them, before a shop's noses move any tangent line. Lengths mm.

Hole rows that follow the ends of a flange, and sizes of one part that another goes into, are laid out from these, so
that they do not shift with the nose on the brake.
"""

from flatgen.core.outline import Outline
from flatgen.develop.allowance import bent_radius
from flatgen.develop.flats import flat_of
from flatgen.develop.measure import described_dimensions
from flatgen.develop.methods import Case
from flatgen.develop.setback import setback
from flatgen.model.blank import Dimension
from flatgen.model.part import SKIRT_EDGES, Part


def drawn_outlines(part: Part) -> dict[str, tuple[Outline, tuple[str, ...]]]:
    """Outline and edge names of every face at the drawing's radii, mitres left out; CannotMake as for a flat."""
    setbacks = {bend.id: setback(bend.angle, bend.radius, part.thickness) for bend in part.bends}
    base = part.face(part.base)
    flats = {base.id: flat_of(part, base, setbacks, None)}
    waiting = [base.id]
    while waiting:
        parent = waiting.pop(0)
        for bend in part.bends:
            if bend.parent != parent:
                continue
            span = bend.child_span if bend.child_span is not None else flats[parent].spans[bend.id]
            flats[bend.child] = flat_of(part, part.face(bend.child), setbacks, span)
            waiting.append(bend.child)
    return {
        name: (flat.outline, SKIRT_EDGES if part.face(name).skirt is not None else part.face(name).edges)
        for name, flat in flats.items()
    }


def drawn_dimensions(part: Part) -> tuple[Dimension, ...]:
    """Sizes of every face across its bends, outside and inside, at the drawing's radii."""
    bents = {bend.id: bent_radius(Case(bend.angle, bend.radius, part.thickness, part.material)) for bend in part.bends}
    return described_dimensions(part, bents)
