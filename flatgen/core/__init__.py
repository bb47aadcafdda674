"""Geometry and mechanics on plain floats: millimetres and, unless a name says radians, degrees."""
