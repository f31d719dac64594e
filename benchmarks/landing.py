"""How well `drive read` times a landing: held-out coils of several seeds, sample rates and noises.

    python benchmarks/landing.py [FILES_A_ROW]

Truth is from tests/core/magnet/other_coil.py (flux as state, exponential inductance, scipy's LSODA), which shares no
code with what is measured. Each row: landings told, within 0.1 ms, within 2u; L over 3 %; moved or not wrong.
"""

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))
from coil.other_coil import draw_coil, recording
from tapewright.coil.measure import Loop, read_current

#: seed, samples a second, noise as a share of the current, closings a file
ROWS = (
    (504, 10_000.0, 0.01, 3), (505, 10_000.0, 0.01, 3), (506, 10_000.0, 0.01, 3), (507, 10_000.0, 0.01, 10),
    (508, 5_000.0, 0.01, 3), (509, 20_000.0, 0.01, 3), (510, 50_000.0, 0.01, 3),
    (511, 10_000.0, 0.003, 3), (512, 10_000.0, 0.02, 3), (513, 10_000.0, 0.01, 1),
)  # fmt: skip


def row(seed: int, rate_hz: float, noise: float, closings: int, files: int) -> str:
    """Measure one row and give its line."""
    rng = np.random.default_rng(seed)
    errors, doubts, changes, untold, wrong, unknown, spent = [], [], [], 0, 0, 0, 0.0
    for _ in range(files):
        coil = draw_coil(rng, stuck=bool(rng.random() < 0.25))
        samples, truth = recording(rng, coil, operations=closings, rate_hz=rate_hz, noise=noise)
        begin = time.process_time()
        found = read_current(samples, rate_hz, Loop(coil.volts, None, coil.series_ohm)).coil
        spent += time.process_time() - begin
        really = any(landing is not None for _, landing in truth)
        wrong += found.moved is not None and found.moved is not really
        unknown += found.moved is None
        if found.inductance_h.value is not None:
            changes.append(found.inductance_h.value / coil.open_h - 1)
        for report, (on, land) in zip(found.closures, truth, strict=False):
            landing = report.landing_ms
            if land is None or not report.moved:
                continue
            if landing.value is None or landing.u is None:
                untold += 1
                continue
            errors.append(landing.value - (land - on) * 1e3)
            doubts.append(landing.u)
    e, u = np.array(errors), np.array(doubts)
    return (
        f"{seed:5d} {rate_hz:8.0f} {noise * 100:5.1f} % {closings:4d} {len(e):6d} {untold:6d} "
        f"{np.mean(np.abs(e) < 0.1) * 100:8.1f} % {np.mean(np.abs(e) < 2 * u) * 100:6.1f} % {np.median(e):+8.3f} "
        f"{np.mean(np.abs(changes) > np.float64(0.03)) * 100:6.1f} % {wrong:5d} {unknown:6d} {spent / files:6.2f}"
    )


def main() -> None:
    """Print the table."""
    files = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    print(" seed     S/s   noise each   told untold  in 0.1 ms  in 2u   middle  L > 3 % wrong no tell  CPU s a file")
    for figures in ROWS:
        print(row(*figures, files), flush=True)


if __name__ == "__main__":
    main()
