"""The bench page's fixtures."""

from serving import clips, serving

__all__ = ["clips", "serving"]
