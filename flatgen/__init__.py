"""Flat patterns, nests, drawings and brake set-ups for folded sheet-metal fittings."""

__version__ = "0.1.0"
