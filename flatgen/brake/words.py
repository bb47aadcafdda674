"""Sizes in the messages of findings: both units, since a drawing in one may be bent on a brake marked in the other."""


def size(mm: float) -> str:
    """A length in mm and inches.

    >>> size(6.35)
    '6.35 mm (0.250 in)'
    """
    return f"{mm:.2f} mm ({mm / 25.4:.3f} in)"
