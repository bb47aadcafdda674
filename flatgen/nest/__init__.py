"""Blanks on stock sheets."""
