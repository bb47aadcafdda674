"""Edge-to-edge cuts: blanks as rectangles, for shear and saw. ``search`` is where to begin, ``finish`` the end."""
