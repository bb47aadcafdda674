"""The engine spyrrow in a process of its own, which can be ended to the moment: it overruns its limit by seconds.

A strip comes in on standard input as one JSON object; every layout without overlap goes out as a line [[shape, x, y,
rotation], …] on standard output, each shorter than the one before. Run as a script, so that it imports nothing else.
"""

import json
import sys
import threading


def main() -> None:
    """Read, solve in a thread, report until it ends."""
    import spyrrow

    asked = json.load(sys.stdin)
    items = [
        spyrrow.Item(str(n), [tuple(p) for p in s["points"]], s["many"], s["rotations"])
        for n, s in enumerate(asked["shapes"])
    ]
    problem = spyrrow.StripPackingInstance("strip", strip_height=asked["room"], items=items)
    config = spyrrow.StripPackingConfig(
        total_computation_time=None,
        exploration_time=asked["explore"],
        compression_time=asked["compress"],
        min_items_separation=asked["gap"] or None,
        seed=asked["seed"],
        num_workers=asked["workers"],
        early_termination=False,
    )
    queue = spyrrow.ProgressQueue()
    worker = threading.Thread(target=lambda: problem.solve(config, queue), daemon=True)
    worker.start()
    good = (spyrrow.ReportType.ExplFeas, spyrrow.ReportType.CmprFeas, spyrrow.ReportType.Final)
    alive = True
    while alive:
        worker.join(0.05)
        alive = worker.is_alive()
        layouts = [solution for kind, solution in queue.drain() if kind in good]
        if layouts:
            placed = [[int(i.id), *i.translation, i.rotation] for i in layouts[-1].placed_items]
            print(json.dumps(placed), flush=True)


if __name__ == "__main__":
    main()
