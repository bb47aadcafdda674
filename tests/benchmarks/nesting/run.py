"""Measure the nesters against problems with known best values; prints one table of ratios.

    python tests/benchmarks/nesting/run.py FOLDER [--effort SECONDS] [NAME…]

FOLDER holds problem files of the form "nesting-instance/1". Sheets are nested at the default effort unless --effort is
given. Every answer is checked by the tests' independent check
before it is printed. Times are wall-clock and depend on what else the machine does; processor time stands beside them.
"""

import argparse
import math
import sys
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parents[1] / "nest"), str(HERE.parents[2])]

import instances  # noqa: E402
import nest_verifier  # noqa: E402

# what others reached on two cores, and what was asked of us: (peer figure in words, limit)
ASKED = {
    "ATP30": ("9 best known", 9),
    "ATP36": ("8 best known", 8),
    "CU1": ("12 best known", 12),
    "CW1": ("9 best known", 9),
    "shear_a_grain": ("1.345 peer; 1.316 no waste", 1.345),
    "shear_a_free": ("1.343 peer; 1.316 no waste", 1.343),
    "gcut1d_3sizes": ("14871875 best known, two-stage", 14871875 * 1.005),
    "saw_stock_a": ("one bought sheet", 1),
    "workshop_a_grain": ("1.869 to 1.955 peers", 1.87),
    "workshop_a_free": ("1.869 to 1.955 peers", 1.88),
    "frames_a": ("none", 1.22),
}


STEPS = 16  # most lengths of a strip that are tried


def longer(effort: float | None):
    """A longer search, where seconds are given."""
    from flatgen.nest import Longer

    return Longer(effort) if effort else None


def best_sheets(problem: dict, turned: bool) -> float | None:
    """Fewest sheets known for any layout, else for the table's own rule."""
    best = problem["best_known"]
    names = [n for n in best if ("no rotation" not in n) == turned] or list(best)
    values = [best[n]["value"] for n in names if isinstance(best[n], dict)]
    return min(values) if values else None


def figure(result, pieces) -> float:
    """Sheets less the share of the emptiest that lies right of all its parts, full height, or above them, full width.

    So the problems count; what the report calls a nest's off-cut is smaller by the trims that free it.
    """
    from flatgen.core.outline import bounds, moved
    from flatgen.core.points import laying

    outlines = {piece.part: piece.outline for piece in pieces}
    free = 0.0
    for nest in result.nests:
        reach = [bounds([moved(outlines[p.part], laying(p.rotation, p.mirrored))]) for p in nest.placements]
        x = max(box[2] + p.x for box, p in zip(reach, nest.placements, strict=True))
        y = max(box[3] + p.y for box, p in zip(reach, nest.placements, strict=True))
        free = max(free, 1.0 - x / nest.sheet.width, 1.0 - y / nest.sheet.height)
    return len(result.nests) - free


def sheets(problem: dict, effort: float | None, turned: bool) -> tuple[float, float | None, str]:
    """(reached, best known, what is counted)."""
    from flatgen.nest import Problem, nest_pieces

    if turned:
        for item in problem["items"]:
            item["rotations"] = [0, 90, 180, 270]
    pieces, stock, tool = instances.pieces_of(problem), instances.sheets_of(problem), instances.tool_of(problem)
    result = nest_pieces(Problem(pieces, stock, tool, aim="metal"), longer(effort))
    nest_verifier.check_result(result, pieces, stock, tool)
    if result.unplaced:
        raise AssertionError("pieces without a place")
    name = problem["name"]
    if name.startswith("gcut"):
        return result.cost, 14871875.0, "cost"
    if name.startswith("saw"):
        return float(sum(n for _, n in result.to_buy)), 1.0, "bought"
    if problem["cutting"] == "free" or name.startswith("shear"):
        return figure(result, pieces), None, "figure"
    return float(len(result.nests)), best_sheets(problem, turned), "sheets"


def strip(problem: dict, effort: float | None) -> float:
    """Length reached: the strip is a sheet, made shorter as long as all still lies on one."""
    from flatgen.core.outline import bounds, moved
    from flatgen.core.points import laying
    from flatgen.model.shop import CuttingTool, Sheet
    from flatgen.nest import Problem, nest_pieces

    scale, height = 1000.0 / problem["strip_height"], 1000.0  # lengths of the set as mm of a strip a metre high
    for item in problem["items"]:
        for ring in (item["polygon"], *item.get("holes", ())):
            ring[:] = [[x * scale, y * scale] for x, y in ring]
    pieces, tool = instances.pieces_of(problem), CuttingTool("router", "profile-cut", gap=problem["gap"])
    outlines = {piece.part: piece.outline for piece in pieces}
    low, best, length = 0.0, math.inf, 2.0 * problem["total_area"] * scale**2 / height
    for _ in range(STEPS):
        sheet = Sheet("strip", "metal", 1.0, length, height)
        result = nest_pieces(Problem(pieces, [sheet], tool), longer(effort))
        nest_verifier.check_result(result, pieces, [sheet], tool)
        if len(result.nests) == 1 and not result.unplaced:
            placed = result.nests[0].placements
            reach = [(bounds([moved(outlines[p.part], laying(p.rotation, p.mirrored))]), p) for p in placed]
            best = min(best, max(box[2] + p.x for box, p in reach))
        else:
            low = length
        if best - low < 0.005 * best:
            break
        length = 1.3 * low if math.isinf(best) else max(0.97 * best, 0.5 * (low + best))
    return best / scale


def main() -> None:
    """Read the folder, run, print."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("folder", type=Path)
    asked.add_argument("names", nargs="*", help="only problems whose name contains one of these")
    asked.add_argument("--effort", type=float, default=None, help="seconds for a longer search on sheets")
    given = asked.parse_args()
    heads = f"{'problem':24} {'counted':8} {'reached':>10} {'best':>10} {'ratio':>7}"
    print(f"{heads} {'wall s':>7} {'cpu s':>6}  peers, what was asked")
    totals: dict[str, float] = {"bp fixed": 0.0, "bp turned": 0.0}
    densities = []
    for file in sorted(given.folder.glob("*.json")):
        if given.names and not any(name in file.stem for name in given.names):
            continue
        problem = instances.read(file)
        if problem.get("format") != "nesting-instance/1":
            continue
        classes = problem["name"].startswith("bp_class")
        for turned in (False, True) if classes else (False,):
            problem = instances.read(file)
            wall, cpu = time.perf_counter(), time.process_time()
            try:
                if problem["kind"] == "strip":
                    length = strip(problem, given.effort)
                    best = problem["best_known"]["length"]
                    ratio, counted, reached = best / length, "length", length
                    densities.append(ratio)
                else:
                    reached, best, counted = sheets(problem, given.effort, turned)
                    ratio = (reached / best if counted == "cost" else best / reached) if best else 0.0
            except AssertionError as wrong:
                print(f"{problem['name']:24} FAILED: {wrong}")
                continue
            wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
            if classes:
                totals["bp turned" if turned else "bp fixed"] += reached
            peer, limit = ASKED.get(problem["name"], ("", None))
            mark = "" if limit is None else (" within" if reached <= limit + 5e-4 else " OVER") + f" {limit:g}"
            name = problem["name"] + (" turned" if turned else "")
            shown = f"{best:10.6g}" if best else " " * 10
            share = f"{ratio:7.4f}" if best else " " * 7
            print(
                f"{name:24} {counted:8} {reached:10.6g} {shown} {share} {wall:7.1f} {cpu:6.1f}  {peer}{mark}",
                flush=True,
            )
    if any(totals.values()):
        fixed, turned = totals["bp fixed"], totals["bp turned"]
        print(f"seven classes: {fixed:g} sheets, best known 109, peer 110; turned {turned:g}, 105 and 106")
    if densities:
        mean = sum(densities) / len(densities)
        print(f"strips: {100 * mean:.2f} % of the best known density on average, least {100 * min(densities):.2f} %")


if __name__ == "__main__":
    main()
