"""A part of a profile with its default sizes, as it is shown before anybody gives it sizes of their own."""

from flatgen.model.part import Part
from flatgen.model.shop import GUESSED_OF_A_BRAKE, GUESSED_OF_A_NOSE, Brake, CuttingTool, NoseBar, Sheet, Shop
from flatgen.read.build import build_part
from flatgen.read.builder import Order
from flatgen.read.drills import usual_drills
from flatgen.read.keys import Table
from flatgen.read.parameters import fill_scope
from flatgen.read.profile import Profile
from flatgen.tables.load import material

METAL = "5052-H32"
SIZES = {"in": (0.032 * 25.4, 3.0 / 32.0 * 25.4), "mm": (0.8, 2.5)}  # thickness, radius


def sample_part(profile: Profile, units: str) -> tuple[Part, Shop]:
    """The part, and a shop with a nose of just its radius; InputError where the defaults do not make a part."""
    thickness, radius = SIZES[units]
    shop = sample_shop(radius, units)
    table = Table(profile.file, {}, (), units, f'profile "{profile.name}"')
    scope = fill_scope(profile, table, units, thickness, radius)
    order = Order(
        id=profile.name,
        title=profile.values["title"],
        quantity=1,
        material=material(METAL),
        thickness=thickness,
        radius=radius,
        units=units,
        shop=shop,
    )
    return build_part(profile, order, scope), shop


def sample_shop(radius: float, units: str, sheets: tuple[Sheet, ...] = ()) -> Shop:
    """A shop with one nose of just this radius and the usual drills [mm]; nobody measured its brake."""
    nose = NoseBar("sample", radius, guessed=tuple(sorted(GUESSED_OF_A_NOSE)))
    return Shop(
        name="sample",
        units="in" if units == "in" else "mm",
        brakes=(Brake("sample", 1000.0, (nose,), guessed=tuple(sorted(GUESSED_OF_A_BRAKE))),),
        tools=(CuttingTool("snips", "profile-cut"),),
        sheets=sheets,
        drills=usual_drills(),
    )
