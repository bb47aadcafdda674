"""What an operation says of the stop that it rests on, and of the grain. Angles deg."""

import math
from typing import Literal

from flatgen.brake.order import Step
from flatgen.core.points import cross, dot
from flatgen.model.blank import Blank


def gauge_kind(step: Step) -> Literal["edge", "face", "sight"]:
    """What rests on the stop: a cut edge, a face that stands, or nothing, where a line is sighted."""
    if step.side == "sight":
        return "sight"
    return "edge" if step.side == "front" or step.trial.stops.rest is None else step.trial.stops.rest.kind


def gauged_face(step: Step) -> str:
    """The face whose edge or side rests on the stop; empty without a stop."""
    stops = step.trial.stops
    return stops.front_face if step.side == "front" else stops.rest.face if stops.rest is not None else ""


def gauge_words(step: Step) -> str:
    """What rests on which stop, in words."""
    stops = step.trial.stops
    if step.side == "front":
        return f"free edge of {stops.front_face} against the front stop on the leaf"
    if step.side == "sight" or stops.rest is None:
        return "no stop: sight line under the nose tip"
    if stops.rest.kind == "face":
        return f"outer face of {stops.rest.face}, standing, against the back stop"
    return f"cut edge of {stops.rest.face} against the back stop"


def grain_to_bend(blank: Blank, along: tuple[float, float]) -> float | None:
    """Angle between rolling direction and bend line, 0 to 90 [deg]."""
    if blank.grain is None:
        return None
    grain = (math.cos(math.radians(blank.grain)), math.sin(math.radians(blank.grain)))
    return round(math.degrees(math.atan2(abs(cross(grain, along)), abs(dot(grain, along)))), 6)
