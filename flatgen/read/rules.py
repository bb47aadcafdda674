"""Sizes that a description may leave to the trade's rules. Lengths mm."""


def relief_hole(radius: float, thickness: float) -> float:
    """Diameter of a relief hole: twice the radius, and no less than 1/8 in up to 0.064 in, 3/16 in above.

    FAA-H-8083-31, ch. 4, folding a box (read in a copy): both 2R and R are printed there; 2R is the cautious one. The
    copy's "3/160" for thicker sheet is a misprint of 3/16.
    """
    least = 25.4 / 8.0 if thickness <= 0.0645 * 25.4 else 25.4 * 3.0 / 16.0
    return max(2.0 * radius, least)


def relief_slot(thickness: float) -> float:
    """Width of a relief slot: 1/8 in, and no less than 2T (common practice for aircraft, from memory)."""
    return max(25.4 / 8.0, 2.0 * thickness)


def relief_depth(thickness: float) -> float:
    """How far a relief slot reaches past the inside tangent line: 1/32 in + T (common practice, from memory)."""
    return 25.4 / 32.0 + thickness
