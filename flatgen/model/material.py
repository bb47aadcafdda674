"""An alloy in one temper, with what the bend mechanics and the scales need to know of it."""

from dataclasses import dataclass, field

from flatgen.model.source import Source


@dataclass(frozen=True, slots=True)
class RadiusRow:
    """Least inside radius by one table at one thickness [mm]; ``low`` is the sharp end of a printed range.

    ``rounding`` is half of the last digit printed: a radius that short of the row still meets it. An infinite radius
    means that the table does not recommend bending this thickness.
    """

    thickness: float
    radius: float
    low: float
    source: Source
    rounding: float = 0.0


@dataclass(frozen=True, slots=True)
class RadiusTable:
    """One named table of least inside radii for one material, rows by rising thickness.

    ``between`` says how the table is to be read between its rows: "thicker" takes the next thicker row's value,
    "multiple" takes the next thicker row's multiple of thickness.
    """

    name: str
    title: str
    rows: tuple[RadiusRow, ...]
    between: str = "thicker"


@dataclass(frozen=True, slots=True)
class Material:
    """Density [g/mm³], moduli and strengths [MPa], hardness class for the bend rules, least radii by table."""

    key: str
    name: str
    family: str
    density: float
    elastic_modulus: float
    yield_strength: float
    ultimate_strength: float
    hardness: str  # soft | medium | hard: which of the neutral-axis rules by hardness applies
    radius_tables: tuple[RadiusTable, ...]
    sources: dict[str, Source] = field(default_factory=dict)
    hardening_exponent: float | None = None  # n of stress = strength · strain^n, where known
    clad: bool = False
    hardening_strength: float | None = None  # of the same law [MPa]; None: the law runs through the yield point
    ramberg_osgood: float | None = None  # exponent of the Ramberg-Osgood law with 0.2 % offset at yield, where known
