"""The smallest shop and job that tests of the commands begin with: a brake, a shear, one size of sheet, an angle."""

BENCH = """
[[brake]]
name = "bench"
length = "30 in"
[[brake.nose]]
name = "nose 1/8"
radius = "1/8 in"
[[tool]]
name = "shear"
method = "shear"
"""
ROUTER = """[[tool]]
name = "router"
method = "profile-cut"
gap = "0.25 in"
"""
SHOP = f"""{BENCH}[[sheet]]
id = "040"
material = "2024-T3"
thickness = "0.040 in"
length = 48
width = 48
"""
HEAD = 'title = "job"\nunits = "in"\nmaterial = "2024-T3"\nthickness = "0.040 in"\nradius = "1/8 in"\n'
PART = '[[part]]\nid = "clip-3"\nprofile = "angle"\nquantity = 2\n'
