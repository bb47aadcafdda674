"""Blanks on stock sheets."""

from flatgen.nest.plan import nest_pieces
from flatgen.nest.result import Halt, NestResult, Waste

__all__ = ["Halt", "NestResult", "Waste", "nest_pieces"]
