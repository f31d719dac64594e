"""Trim beside turning one screw after the other: `python benchmarks/trim.py [machines]`.

Limits: two coupled screws settle in a median of 3 moves and never over 6; of moves said 90 % sure, 85 to 95 % land.
A move is counted each time the screws are turned; the as-found reading is no move.
"""

import sys
import time
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "tests"))

from fakes.restorer import follow_advice, turn_one_after_the_other  # noqa: E402
from tapewright.practice.adjusters import random_mechanism  # noqa: E402

BANDS = ((0.0, 0.1), (0.1, 0.5), (0.5, 0.7), (0.7, 0.85), (0.85, 0.95), (0.95, 1.01))
SORTS = {
    "0.02 mm gauge steps": {},
    "strongly coupled": {"cross": (1.5, 3.0)},
    "bent": {"bend": 0.25},
    "noisy, much play": {"noise": 0.06, "play": 0.08},
    "a gauge that gives numbers": {"gauge_step": 0.0},
}


def _summary(logs: list) -> str:
    moves = np.array([log.moves for log in logs])
    done = sum(log.state == "done" for log in logs)
    return f"median {np.median(moves):.0f}, mean {moves.mean():4.1f}, most {moves.max():2}, done {done}/{len(logs)}"


def main() -> None:
    machines = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    logs, single, promises = [], [], []
    started = time.perf_counter()
    for seed in range(machines):
        machine = random_mechanism(np.random.default_rng([1, seed]), 2, 2, **list(SORTS.values())[seed % len(SORTS)])
        logs.append(follow_advice(machine, np.random.default_rng([2, seed])))
        single.append(turn_one_after_the_other(machine, np.random.default_rng([2, seed])))
    promises = [(sure, inside) for log in logs for state, sure, inside in log.promises if state == "move"]
    took = time.perf_counter() - started
    print("moves until settled                advice                    one screw after the other (60 at most)")
    for n, sort in enumerate([*SORTS, "all"]):
        of_sort = slice(None) if sort == "all" else slice(n, None, len(SORTS))
        print(f"  {sort:<30}" + "".join(f"  {_summary(kind[of_sort])}" for kind in (logs, single)))
    false = sum(log.state == "done" and not log.inside for log in logs)
    each = took / sum(log.moves + 1 for log in logs)
    print(f"done, but the truth was outside: {false} of {machines}; {each:.2f} s an advice and a reading")
    for low, high in BANDS:
        band = [(s, i) for s, i in promises if low <= s < high]
        if band:
            said, landed = np.mean(band, axis=0)
            print(f"  said {100 * said:3.0f} % sure: {100 * landed:3.0f} % landed ({len(band)} moves)")


if __name__ == "__main__":
    main()
