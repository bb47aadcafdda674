"""Drawings and results to files; one file a format."""
