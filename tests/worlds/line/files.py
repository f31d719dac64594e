"""The same samples in the many ways in which bench instruments write them into files, each with its truth.

    for name, written in write_all(folder, seed=3).items(): ...        # every dialect
    written = DIALECTS["semicolons"](draw_signal(3), folder / "a.csv")
    written.times_s, written.columns["LINE"], written.content      # what a reader should find

Sampled volts are in files_samples, levels and value change dumps in files_logic, the signal in files_signal.
"""

from collections.abc import Callable
from pathlib import Path

from worlds.line.files_logic import LOGIC
from worlds.line.files_samples import SAMPLES
from worlds.line.files_signal import Signal, Written, draw_signal

Dialect = Callable[[Signal, Path], Written]
DIALECTS: dict[str, Dialect] = {write.__name__.replace("_", " "): write for write in (*SAMPLES, *LOGIC)}


def write_all(folder: Path, seed: int) -> dict[str, Written]:
    """Write one signal in every dialect into a folder; return what was written by dialect."""
    signal = draw_signal(seed)
    return {name: write(signal, folder / f"{name.replace(' ', '_')}.csv") for name, write in DIALECTS.items()}
