"""How good and how fast the advisor is: `python benchmarks/diagnosis.py [--cases 400] [--seed N]`.

Prints accuracy on simulated single and double faults, the confusion table, calibration, minutes against the best
policy there is (small models) and against a fixed order, and times at 100 causes and 200 findings. The machines come
from core/simulate/faulty_machine, which shares neither code nor tables with the advisor; a second run samples cases
from the advisor's own model, which is the easier job and is printed to show the difference.
"""

import argparse
import sys
import time
from collections import Counter
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).parents[1] / "tests")]

from advisor.cases import SHARE_DONE, generator  # noqa: E402  (the path must be set first)
from advisor.lookahead import Game, small_model  # noqa: E402
from advisor.scores import MACHINES, calibration, score, score_own_model  # noqa: E402
from advisor.test_belief import large  # noqa: E402
from tapewright.advisor.belief import infer  # noqa: E402
from tapewright.advisor.fault_sets import representative  # noqa: E402
from tapewright.advisor.models import load  # noqa: E402
from tapewright.advisor.next_test import chance_absent, joint_bits  # noqa: E402
from tapewright.course.practise import begin, fixed_order, follow_advice  # noqa: E402
from tapewright.practice.faulty_machine import deal_random  # noqa: E402


def main():
    options = argparse.ArgumentParser()
    options.add_argument("--cases", type=int, default=400)
    options.add_argument("--seed", type=int, default=20_261_125)
    options.add_argument("--share", type=float, default=SHARE_DONE)
    options.add_argument("--rounds", type=int, default=24)
    chosen = options.parse_args()
    singles = score(chosen.seed, 1, chosen.cases, chosen.share)
    doubles = score(chosen.seed + 1, 2, chosen.cases // 2, chosen.share)
    print(f"share of tests done: {chosen.share:g}; seed {chosen.seed}")
    print_accuracy("practice machine", singles, doubles)
    print_accuracy("the advisor's own model", *(score_own_model(chosen.seed + 2 + k, k + 1, chosen.cases // 2,
                                                                chosen.share) for k in range(2)))  # fmt: skip
    print_calibration(singles + doubles)
    print_confusion(singles)
    print_speed()
    print_small_models()
    print_rounds(chosen.seed, chosen.rounds)


def print_accuracy(name, singles, doubles):
    ranks = np.array([case.ranks[0] for case in singles])
    both = np.mean([max(case.ranks) < 5 for case in doubles])
    print(f"\n{name}: {len(singles)} singles: first {np.mean(ranks == 0):.1%}, among three {np.mean(ranks < 3):.1%}; "
          f"{len(doubles)} doubles: both among five {both:.1%}")  # fmt: skip


def print_calibration(scored):
    print("\ngiven          n   mean   true")
    for low, high in ((0.1, 0.3), (0.3, 0.5), (0.5, 0.7), (0.7, 0.9), (0.9, 1.01)):
        n, mean, true = calibration(scored, low, high)
        print(f"{low:.0%} to {min(high, 1):.0%}  {n:5d}  {mean:.1%}  {true:.1%}")


def print_confusion(singles):
    """Stations across: where the fault was, where the first suspect was; then the causes most often mistaken."""
    whole = load("whole")
    stations = list(dict.fromkeys(cause.station for cause in whole.causes.values()))
    table = Counter((whole.causes[c.faults[0]].station, whole.causes[c.order[0]].station) for c in singles)
    print("\nconfusion of stations (rows: the fault, columns: the first suspect)")
    print(" " * 22 + " ".join(f"{n:2d}" for n in range(1, len(stations) + 1)))
    for number, row in enumerate(stations, start=1):
        print(f"{number:2d} {row:19s}" + " ".join(f"{table[row, column] or '.':>2}" for column in stations))
    mistaken = Counter((c.faults[0], c.order[0]) for c in singles if c.ranks[0])
    print("\nmistaken most often (fault, first suspect, times)")
    for (fault, suspect), times in mistaken.most_common(15):
        print(f"  {fault:32s} {suspect:32s} {times}")


def print_speed():
    network, evidence = large(0.05, seed=3)
    print(f"\n100 causes, 200 findings, 15 positive: posterior {best_ms(lambda: infer(network, evidence)):.1f} ms, "
          f"next test {best_ms(lambda: next_test(network, evidence)):.1f} ms")  # fmt: skip


def next_test(network, evidence):
    sets = representative(network, evidence)
    stay_away = chance_absent(sets, network.strength)
    for first in range(60, 200, 3):
        joint_bits(stay_away, sets.weight, range(first, min(200, first + 7)))


def best_ms(job):
    took = []
    for _ in range(5):
        started = time.perf_counter()
        job()
        took.append(1e3 * (time.perf_counter() - started))
    return min(took)


def print_small_models():
    games = [Game(small_model(np.random.default_rng(seed))) for seed in range(500, 512)]
    ratios = [game.advised() / game.value() for game in games]
    print(f"\nminutes against the best policy, 12 small models: mean {np.mean(ratios):.3f}, worst {max(ratios):.3f}")


def print_rounds(seed, rounds):
    rng, advice, fixed = generator(seed + 9), [], []
    for number in range(rounds):
        model = load(MACHINES[number % 3])
        machine = deal_random(model.causes, 1, rng)
        advice.append(follow_advice(begin(model, machine, machine.by_fault)).minutes)
        fixed.append(fixed_order(begin(model, machine, machine.by_fault)).minutes)
    print(f"\nminutes to the right remedy, {rounds} machines: advice {np.mean(advice):.0f}, fixed order "
          f"{np.mean(fixed):.0f}, ratio {np.sum(advice) / np.sum(fixed):.2f}")  # fmt: skip


if __name__ == "__main__":
    main()
