"""Cuts along outlines: blanks by their true shapes, for router, saw and snips. ``search`` is where to begin."""
