"""The part when it is formed: metal in two places at once, fits to a mate."""

from collections.abc import Iterator

from flatgen.checks.rules import Seen, rule
from flatgen.develop.collide import collisions
from flatgen.model.blank import Blank
from flatgen.model.finding import Severity
from flatgen.model.part import Part
from flatgen.model.shop import Shop
from flatgen.model.source import DERIVED, PRACTICE
from flatgen.said import extent, said, size


@rule("collision-when-formed", severity=Severity.FORBID, source=DERIVED)
def collision_when_formed(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """No two flats of the formed part stand in the same place."""
    for one, two, area in collisions(blank):
        text = said(f"{one} and {two} run into one another when formed, over ", extent(area))
        yield Seen(f"{one}, {two}", area, 0.0, text, unit="mm²", todo="shorten, mitre or notch one")


@rule("fit-to-mate", severity=Severity.WARN, source=PRACTICE)
def fit_to_mate(part: Part, blank: Blank, shop: Shop) -> Iterator[Seen]:
    """A part that goes over or into another has the clearance that is wanted there."""
    for fit in part.fits:
        own = next(d for d in blank.dimensions if d.where == fit.face and d.axis == fit.across)
        play = own.inside - fit.their_size if fit.way == "over" else fit.their_size - own.outside
        if abs(play - fit.clearance) > fit.allowed + 1e-9:
            text = said(
                f"{fit.face} goes {fit.way} {fit.their_face} of {fit.part} with ",
                size(play),
                " of play; ",
                size(fit.clearance),
                " is wanted, give or take ",
                size(fit.allowed),
            )
            todo = "change the size of one of the two, or the clearance that is asked for (fit)"
            yield Seen(f"{fit.face}, {fit.part}", play, fit.clearance, text, todo=todo)
