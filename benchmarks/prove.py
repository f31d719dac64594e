"""The proof of a machine with 200 requirements, 10 captures and 5 tapes: `python benchmarks/prove.py`. Limit: 5 s.

The record is made of result documents that the measuring commands wrote of the practice machine. Timed is all that
stands between the lines of the book and the PDF's bytes, in a process that has imported nothing before.
"""

import pickle
import subprocess
import sys
import tempfile
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[1] / "tests"), str(Path(__file__).parents[1] / "src")]

LIMIT_S = 5.0
TIMED = """
import pickle, sys, time
entries = pickle.loads(open(sys.argv[1], "rb").read())
started = time.perf_counter()
from tapewright.proof.prove_machine import prove_entries
from tapewright.furniture.pages.pdf import pages_pdf
from tapewright.proof.proof_pages import proof_pages
proof = prove_entries("Petrel", entries[0].new.machine, entries)
made = pages_pdf(proof_pages(proof))
print(time.perf_counter() - started, len(made), len(proof.answers))
"""


def main() -> None:
    from proof.practice_book import large

    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "entries"
        file.write_bytes(pickle.dumps(large().all()))
        took = []
        for _ in range(3):
            done = subprocess.run([sys.executable, "-c", TIMED, str(file)], capture_output=True, text=True, check=True)
            seconds, size, answers = done.stdout.split()
            took.append(float(seconds))
    best = min(took)
    print(f"{answers} verdicts, {int(size) / 1e6:.1f} MB of PDF in {best:.2f} s, {best / LIMIT_S:.2f} of the limit")


if __name__ == "__main__":
    main()
