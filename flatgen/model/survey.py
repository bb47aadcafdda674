"""What is measured on a hand brake, figure by figure: the key it goes to, how, and which picture shows it."""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Measure:
    """One figure: its key in ``[[brake]]`` or ``[[brake.nose]]``, what to ask, how to measure, its picture."""

    key: str
    ask: str
    how: str
    picture: str
    owner: Literal["brake", "nose"] = "brake"


@dataclass(frozen=True, slots=True)
class Station:
    """Figures that one picture shows."""

    title: str
    picture: str
    measures: tuple[Measure, ...]


def _station(
    title: str, picture: str, *rows: tuple[str, str, str], owner: Literal["brake", "nose"] = "brake"
) -> Station:
    return Station(title, picture, tuple(Measure(key, ask, how, picture, owner) for key, ask, how in rows))


STATIONS: tuple[Station, ...] = (
    _station(
        "Length",
        "length",
        ("length", "Usable length, cheek to cheek", "Rule along the bed's edge, between what stops a sheet."),
    ),
    _station(
        "Leaf's travel",
        "travel",
        (
            "largest_angle",
            "Leaf's travel from lying flat",
            "Raise it to its end; protractor on its face, less the bed.",
        ),
    ),
    _station(
        "Opening and depth",
        "opening",
        ("largest_opening", "Opening when lifted", "Nose right up: gap from the nose's foot to the bed."),
        ("throat", "Clear depth behind the nose tip", "Rule from the tip back to the frame; nothing where it is open."),
        ("beam_depth", "Beam over the nose, from its tip back", "Square from the tip to the beam's back."),
    ),
    _station(
        "Leaf and bed",
        "leaf",
        ("leaf_land", "Leaf's land: flat of its edge", "Width of the flat that touches the sheet."),
        ("leaf_depth", "Leaf's depth", "Height of the leaf as it hangs."),
        ("bed_depth", "Bed, front to back", "Of the part that stands under a bent flange."),
        ("bed_height", "Bed's height over what lies below", "To the frame or the bench."),
    ),
    _station(
        "Hinge",
        "hinge",
        ("hinge_forward", "Hinge line in front of the bed's edge", "Pin's middle against a straightedge; often 0."),
        ("hinge_up", "Hinge line above the bed's top", "The same, up; often 0."),
        (
            "hinge_play",
            "Play of the leaf in its hinges",
            "Lift the leaf's end by hand; feeler or dial. Wear from 0.1 mm.",
        ),
    ),
    _station(
        "Nose bar",
        "nose",
        ("radius", "Radius of its edge", "Radius gauge, not what is stamped on it; at both ends."),
        ("depth", "Foot, from the tip backward", "Rule on its lower face."),
        ("height", "Height of the bar over the sheet", "Lower face to the beam."),
        ("front_angle", "Front face, from the bed", "Protractor on its slope."),
        owner="nose",
    ),
    _station(
        "Nose bar's length",
        "bar",
        ("length", "Radiused length", "Between the ends where the radius fades."),
        owner="nose",
    ),
    _station(
        "Fingers",
        "fingers",
        ("fingers", "Widths of the fingers, with commas", "Each finger's foot; nothing for a solid bar."),
    ),
    _station(
        "Set-back",
        "setback",
        ("setback_range", "Least and greatest set-back of the tip", "Both ends of the adjuster, tip to bed's edge."),
    ),
    _station(
        "Stops",
        "stops",
        ("back_stop_reach", "Back stop's reach from the bed's edge", "Farthest it goes; nothing without one."),
        ("front_stop_reach", "Front stop's reach", "On the leaf, from the bed's edge; nothing without one."),
    ),
    _station(
        "Straightness",
        "bow",
        ("bed_bow", "Greatest gap under a straightedge", "Straightedge on the bed's edge, feeler in the gap."),
    ),
    _station(
        "Gap along the nose",
        "gaps",
        (
            "nose_gaps",
            "Gap at five places, left to right",
            "Paper strips 0.1 mm (.004 in) thick, clamped lightly: how many a place takes before they hold.",
        ),
    ),
    _station(
        "Plate",
        "plate",
        ("capacity_thickness", "Thickest mild steel at full length", "The maker's plate; nothing without one."),
    ),
    _station(
        "Handle",
        "handle",
        ("handle", "Hinge to where the hands pull", "Along the handle, square from the hinge line."),
        ("leaf_lift", "Pull there that lifts the bare leaf", "Spring scale at the grip, leaf just off its rest."),
    ),
)
MEASURES: tuple[Measure, ...] = tuple(measure for station in STATIONS for measure in station.measures)
