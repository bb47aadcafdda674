"""Random jobs of a few parts on random brakes, written as files: many parts are stopped, for reasons of every kind."""

import math
import random
from pathlib import Path

SHEETS = (("2024-T3", 0.8), ("6061-T6", 1.2), ("5052-H32", 1.6))
SIZES = {
    "angle": {"leg_a": (6, 60), "leg_b": (6, 60)},
    "channel": {"web": (12, 80), "flange": (6, 70)},
    "zed": {"web": (12, 60), "flange": (6, 40)},
    "tray": {"width": (30, 90), "height": (8, 60)},
    "doubler": {},
}
ROUND = {"corner_radius": 0, "hole_diameter": 0, "rivet": 0, "width": 40}


def random_job(seed: int, folder: Path) -> Path:
    """A job and its shop in a folder, other ones for every seed; shops in mm and in inches by turns."""
    draw = random.Random(seed)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "shop.toml").write_text(_shop(draw, "in" if seed % 2 else "mm"), encoding="utf-8")
    parts = [_part(draw, k) for k in range(draw.randint(1, 3))]
    head = f'title = "Random {seed}"\nunits = "{"mm" if seed % 3 else "in"}"\ncoupons = {str(seed % 5 == 0).lower()}\n'
    (folder / "job.toml").write_text(head + "".join(parts), encoding="utf-8")
    return folder / "job.toml"


def _shop(draw: random.Random, units: str) -> str:
    brake = f"""units = "{units}"
[[brake]]
name = "bench"
length = "{draw.choice((300, 620))} mm"
largest_angle = {draw.choice((100, 120, 135))}
largest_opening = "{draw.choice((12, 38))} mm"
leaf_land = "{draw.choice((8, 12))} mm"
{draw.choice(("", 'capacity_thickness = "0.9 mm"'))}
{draw.choice(("", 'smallest_flange = "9 mm"'))}
{draw.choice(("", 'back_stop_reach = "60 mm"'))}
fingers = {draw.choice(("[]", '["20 mm", "25 mm", "32 mm", "40 mm"]'))}
"""
    for name, radius, length in (("short", 3, 150), ("long", 3, 330), ("large", 5, 640)):
        if name != "long" or draw.random() < 0.5:
            brake += f"""[[brake.nose]]
name = "{name}"
radius = "{radius} mm"
length = "{length} mm"
depth = "{draw.choice((22, 30))} mm"
height = "{draw.choice((25, 57))} mm"
front_angle = 45
"""
    tool = '[[tool]]\nname = "shear"\nmethod = "shear"\n[[tool]]\nname = "router"\nmethod = "profile-cut"\n'
    tool += 'gap = "9 mm"\nbit_diameter = "6 mm"\n'
    sheets = "".join(
        f'[[sheet]]\nid = "{metal}"\nmaterial = "{metal}"\nthickness = "{thick} mm"\n'
        f'length = "{draw.choice((500, 1250))} mm"\nwidth = "400 mm"\nmargin = "6 mm"\n'
        for metal, thick in SHEETS
    )
    return brake + tool + sheets


def _part(draw: random.Random, k: int) -> str:
    profile = draw.choice(tuple(SIZES))
    metal, thick = draw.choice(SHEETS)
    length = draw.choice((40.0, 139.0, 141.0, 310.0, 330.0)) + draw.random()
    radius, angle = draw.choice((3, 3, 3, 4, 5, 5, 8)), draw.uniform(30, 130) if profile == "angle" else 90.0
    lines = [f'[[part]]\nid = "P{k}"\nprofile = "{profile}"\nquantity = {draw.randint(1, 9)}']
    lines += [f'material = "{metal}"', f'thickness = "{thick} mm"', f'radius = "{radius} mm"']
    lines += [f'length = "{length:.3f} mm"', f'tool = "{draw.choice(("shear", "router"))}"']
    lines += [f"angle = {angle:.2f}"] if profile == "angle" else []
    setback = (max(radius, 5) + thick) * math.tan(math.radians(angle) / 2)
    for name, (low, high) in SIZES[profile].items():
        bends, least = 2 if name in ("web", "width") else 1, 18 if profile == "tray" else 1
        lines.append(f'{name} = "{max(draw.uniform(low, high), bends * setback + least):.3f} mm"')
    if profile == "doubler":
        lines += [f"{name} = {value}" if value == 0 else f'{name} = "{value} mm"' for name, value in ROUND.items()]
    return "\n".join(lines) + "\n"


LONG = """units = "mm"
[[brake]]
name = "long"
length = 1200
[[brake.nose]]
name = "2"
radius = 2
[[tool]]
name = "shear"
method = "shear"
[[sheet]]
id = "S"
material = "6061-T6"
thickness = 0.8
length = 2000
width = 1000
"""
LETTERS = "ABCDEFGHKLMNPRSTUVWXYZ0123456789"


def long_job(seed: int, folder: Path) -> Path:
    """One part, of one hand or both: 25 mm to 1 m long, 0 to 12 bends, up to 60 holes, a number of up to 40 letters."""
    draw, small = random.Random(seed), seed % 6 == 0
    long, web = (25.4, 25.4) if small else (draw.uniform(60.0, 1016.0), draw.uniform(40.0, 160.0))
    profile = ['title = "corrugated"', 'units = "mm"', 'base = "web"', 'grain = "x"', "[face.web]"]
    profile.append(f"size = [{long:.2f}, {web:.2f}]")
    for k in range(0 if small else seed % 13):
        on, high = f"s{k - 2}.free" if k > 1 else ("web.top", "web.bottom")[k], draw.uniform(14.0, 34.0)
        fold, angle = draw.choice(("up", "down")), draw.choice((90.0, 90.0, 45.0, 63.7))
        profile += [f"[flange.s{k}]", f'on = "{on}"', f"height = {high:.2f}", f'fold = "{fold}"', f"angle = {angle}"]
    (folder / "profiles").mkdir(parents=True)
    (folder / "profiles" / "corrugated.toml").write_text("\n".join(profile) + "\n", encoding="utf-8")
    (folder / "shop.toml").write_text(LONG, encoding="utf-8")
    name = "".join(draw.choice(LETTERS) for _ in range(draw.choice((5, 12, 38))))
    holes = 1 if small else draw.choice((0, 4, 24, 60))
    job = [f'title = "Random {seed}"', 'units = "mm"', 'material = "6061-T6"', 'thickness = "0.8 mm"']
    job += ['radius = "2 mm"', "[[part]]", f'id = "{name}"', 'profile = "corrugated"']
    job += [f"quantity = {draw.randint(1, 40)}", f'hand = "{draw.choice(("none", "pair"))}"']
    job += ['title = "corrugated stiffener"'] if seed % 2 else []
    if holes:
        pitch = (long - 12.0) / holes
        job += ["[[part.holes]]", 'face = "web"', 'drill = "2.5 mm"', f"pitch = {pitch:.3f}", f"count = {holes}"]
        job += [f"from = [{6.0 + pitch / 2.0:.2f}, {web / 2.0:.2f}]"]
    (folder / "job.toml").write_text("\n".join(job) + "\n", encoding="utf-8")
    return folder / "job.toml"
