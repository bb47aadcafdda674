"""Blanks on stock sheets."""

from flatgen.nest.longer import Longer
from flatgen.nest.plan import nest_pieces
from flatgen.nest.problem import Problem
from flatgen.nest.result import NestResult, Waste

__all__ = ["Longer", "NestResult", "Problem", "Waste", "nest_pieces"]
