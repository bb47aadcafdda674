"""Names of what the brake's plan may find, for waivers and for the table of rules."""

# name: (severity, what it says, who says so)
BRAKE_RULES: dict[str, tuple[str, str, str]] = {
    "brake-collision": (
        "forbid",
        "Some order of bends clears nose, bed, leaf, beam and the part itself.",
        "simulation",
    ),
    "brake-length": ("forbid", "The bend is no longer than the nose bar and the brake.", "derived"),
    "brake-angle": ("forbid", "The over-bent leaf stays within its travel and the nose's front face.", "derived"),
    "brake-capacity": ("forbid", "Thickness, length and temper stay within the brake's rating.", "common practice"),
    "brake-flange": ("forbid", "A flat between bends gives the leaf and the nose enough to hold.", "common practice"),
    "brake-reach": ("warn", "Some edge or face can rest on a stop within reach.", "derived"),
    "brake-way-out": ("warn", "The part is drawn to the front or endways when it is bent.", "simulation"),
    "brake-clearance": ("note", "The part passes the tools with some millimetres to spare.", "simulation"),
    "brake-bow": ("warn", "A flange is not so long and narrow that it comes out bowed.", "common practice"),
}
