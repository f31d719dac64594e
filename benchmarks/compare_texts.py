"""Comparing sent and received: time for a long text, as a ratio to a general sequence aligner in the same run.

`python benchmarks/compare_texts.py` prints a line for each length. The general aligner (biopython, in C) is given
the same costs and searches the whole table, so that its time grows with the square of the length; ours searches a
band and also judges, counts and bounds. The limit is this project's own: at 10,000 characters at most twice the
time of that aligner's score.
"""

import time
from collections.abc import Callable

import numpy as np
from Bio.Align import PairwiseAligner, substitution_matrices

from tapewright.message import compare
from tapewright.message.cheapest_way import CHANGED, FIRST_OF_RUN, NEXT_OF_RUN

LENGTHS = (1_000, 3_000, 10_000)
LOST = CHANGED_SHARE = 0.02


def texts(length: int) -> tuple[list[str], list[str]]:
    generator = np.random.default_rng(1)
    sent = [format(n, "05b") for n in generator.integers(0, 32, length)]
    came = [code for code in sent if generator.random() >= LOST]
    return sent, [code if generator.random() >= CHANGED_SHARE else "00000" for code in came]


def general_aligner() -> PairwiseAligner:
    letters = "".join(chr(65 + n) for n in range(32))
    costs = [[0 if a == b else 1 - CHANGED - (a ^ b).bit_count() for b in range(32)] for a in range(32)]
    aligner = PairwiseAligner(mode="global")
    aligner.substitution_matrix = substitution_matrices.Array(letters, dims=2, data=np.array(costs, dtype=float))
    aligner.open_gap_score, aligner.extend_gap_score = -FIRST_OF_RUN, -NEXT_OF_RUN
    return aligner


def seconds(what: Callable[[], object]) -> float:
    started = time.perf_counter()
    what()
    return time.perf_counter() - started


def main() -> None:
    compare(["00000"] * 4, ["11111"] * 4)  # imports are not what is measured
    for length in LENGTHS:
        sent, received = texts(length)
        a, b = ("".join(chr(65 + int(code, 2)) for code in text) for text in (sent, received))
        aligner = general_aligner()
        ours = min(seconds(lambda s=sent, r=received: compare(s, r)) for _ in range(3))
        theirs = min(seconds(lambda x=a, y=b, al=aligner: al.score(x, y)) for _ in range(2))
        print(f"{length:6d} characters: {ours:.3f} s, {ours / theirs:.2f} x the general aligner's score alone")


if __name__ == "__main__":
    main()
