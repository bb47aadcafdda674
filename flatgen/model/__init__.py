"""Frozen dataclasses that cross the borders between stages; they know only core."""
