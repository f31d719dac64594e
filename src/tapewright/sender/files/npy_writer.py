"""NPY: the samples as one numpy array. It does not hold the rate: keep it with the file.

One array written as it is made, in numpy's own format: what NPY and NPZ share.
"""

from pathlib import Path
from typing import IO

import numpy as np

from tapewright.sender.compose import Composed, Contents, Progress
from tapewright.sender.files.pieces import sample_pieces, total


def write_array(file: IO[bytes], composed: Composed, progress: Progress) -> None:
    """Write logic as bytes of 0 and 1, voltages as 32-bit floats; shape (samples,)."""
    kind = np.dtype("u1") if composed.contents == "logic" else np.dtype("<f4")
    shape = (total(composed),)
    header = {"descr": np.lib.format.dtype_to_descr(kind), "fortran_order": False, "shape": shape}
    np.lib.format.write_array_header_1_0(file, header)
    for piece in sample_pieces(composed, progress):
        file.write(piece.astype(kind).tobytes())


WHAT = "NPY array of samples; reading it needs --rate"
CONTENTS: tuple[Contents, ...] = ("logic", "volts")
RATE_HZ = 1e5


def write(path: Path, composed: Composed, progress: Progress) -> None:
    """Write the signal."""
    with path.open("wb") as file:
        write_array(file, composed, progress)
