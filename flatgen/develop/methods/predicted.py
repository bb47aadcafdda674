"""The method that develops for the bend as it will be after release, so that no leg takes an excess."""

from flatgen.core import bend
from flatgen.core.making import making
from flatgen.develop.methods import Case, method
from flatgen.errors import CannotMake
from flatgen.model.source import Source
from flatgen.tables.load import source


@method(
    "predicted",
    title="handbook's arc on the over-bent leaf, legs at the released radius",
    meant_for="aluminium sheet on a brake, where spring-back is known or its estimate is trusted",
    trust="as good as the spring-back: half of an over-bend of 4 deg is .002 in of blank at .040 on 5/32",
    needs="sheet that does not spring back flat",
    springback_in=True,
)
def predicted_release(case: Case) -> tuple[float, Source] | None:
    """What is left of the handbook's arc at the leaf's angle once both legs are sized at the radius after release."""
    from flatgen.develop.allowance import overbend  # which looks methods up, and so comes after them

    allowance = bend.allowance_handbook(case.angle, case.inside_radius, case.thickness)
    try:
        _, leaf, _ = overbend(case)
    except CannotMake:
        return None
    made = making(case.angle, leaf, case.inside_radius, case.thickness, allowance, springback_in=False)
    return made.arc - 2.0 * made.shortens, source("sheet-metal-work-book", "bend deduction, at the leaf's angle")
