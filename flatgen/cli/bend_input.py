"""What ``flatgen bend`` is given, from text to millimetres and degrees; every complaint names its option."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from flatgen.core.nominal import measured_of
from flatgen.errors import InputError, nearest
from flatgen.units import parse_angle, parse_length

if TYPE_CHECKING:
    from flatgen.core.fit import RatioFit
    from flatgen.model.material import Material

FIND = "?"
THICKEST = 13.0  # as in a job [mm]


@dataclass(frozen=True, slots=True)
class BendInput:
    """Reads options in the unit of bare numbers, "in" or "mm"."""

    units: str

    def signed(self, option: str, text: str | None) -> float | None:
        """A length that may be below 0, or None where the option is not given [mm]."""
        if text is None:
            return None
        try:
            return parse_length(text, self.units)
        except ValueError as error:
            raise _named(option, text, error) from error

    def length(self, option: str, text: str | None, *, zero: bool = False) -> float:
        """A length above 0 (or from 0 on) [mm]."""
        value = self.signed(option, text)
        if value is None:
            raise InputError("missing; a length is needed here", where=option)
        if value < 0.0 or (value == 0.0 and not zero):
            raise InputError(f'"{text}" must be {"0 or above" if zero else "above 0"}', where=option)
        return value

    def thickness(self, text: str | None) -> float:
        """Thickness of the sheet [mm]; more than a job may have is most likely a size in the other unit."""
        value = self.length("--thickness", text)
        if value > THICKEST:
            hint = "write the unit with it, or give --units mm" if self.units == "in" else "write the unit with it"
            raise InputError(
                f'"{text}" is {value:.2f} mm here, and {THICKEST:g} mm is the most; {hint}',
                where="--thickness",
            )
        return value

    def measured(self, text: str | None, nominal: float) -> float:
        """Thickness to work with: by micrometer where it is given, else the nominal one [mm]."""
        if text is None:
            return nominal
        value = self.length("--measured", text)
        if not measured_of(nominal, value):
            raise InputError(f'"{text}" is more than a tenth off the nominal thickness', where="--measured")
        return value

    def degrees(self, option: str, text: str, least: float, most: float) -> float:
        """An angle between two limits [deg]."""
        try:
            value = parse_angle(text)
        except ValueError as error:
            raise _named(option, text, error) from error
        if not least <= value <= most:
            raise InputError(f'"{text}" must be from {least:g} to {most:g} deg', where=option)
        return value

    def angle(self, turned: str | None, between: str | None) -> float:
        """Angle turned through, from itself or from the angle between the legs [deg]."""
        if turned is not None and between is not None:
            raise InputError("give --angle or --between, not both", where="--between")
        if between is not None:
            return 180.0 - self.degrees("--between", between, 0.0, 179.0)
        return self.degrees("--angle", turned, 1.0, 180.0) if turned is not None else 90.0

    def legs(self, text: str) -> tuple[float, ...]:
        """Legs set apart by commas [mm]."""
        return tuple(self.length("--legs", word.strip()) for word in text.split(",")) if text.strip() else ()

    def legs_but_one(self, text: str) -> tuple[float | None, ...]:
        """Legs of a blank of a known length [mm]; None for the one marked ?, which is to be found."""
        words = [word.strip() for word in text.split(",")] if text.strip() else []
        return tuple(None if word == FIND else self.length("--legs", word) for word in words)

    def table(self, name: str, material: "Material") -> str:
        """Name of a table of least radii of this metal; "" stays."""
        names = [table.name for table in material.radius_tables]
        if name and name not in names:
            raise InputError(f'no table "{name}" for {material.name}. {nearest(name, names)}', where="--table")
        return name

    def fit(self, file: Path, angle: float, thickness: str | None, radius: str | None) -> "RatioFit":
        """Neutral-axis ratio fitted to the parts of a file; options stand in for columns that it leaves out."""
        from flatgen.core.fit import fit_ratio
        from flatgen.read.made_parts import read_made_parts

        defaults = {"angle": angle}
        if thickness is not None:
            defaults["thickness"] = self.length("--thickness", thickness)
        if radius is not None:
            defaults["radius"] = self.length("--radius", radius, zero=True)
        return fit_ratio(read_made_parts(file, self.units, defaults))


def _named(option: str, text: str, error: ValueError) -> InputError:
    message = error.message if isinstance(error, InputError) else f'"{text}" is not a number'
    return InputError(message, where=option)
