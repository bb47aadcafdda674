"""Blanks on stock sheets."""

from flatgen.nest.plan import nest_pieces
from flatgen.nest.result import NestResult, Waste

__all__ = ["NestResult", "Waste", "nest_pieces"]
