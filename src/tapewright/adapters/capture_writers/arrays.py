"""One array written as it is made, in numpy's own format: what NPY and NPZ share."""

from typing import IO

import numpy as np

from tapewright.adapters.capture_writers.pieces import sample_pieces, total
from tapewright.app.compose_signal import Composed, Progress


def write_array(file: IO[bytes], composed: Composed, progress: Progress) -> None:
    """Write logic as bytes of 0 and 1, voltages as 32-bit floats; shape (samples,)."""
    kind = np.dtype("u1") if composed.contents == "logic" else np.dtype("<f4")
    shape = (total(composed),)
    header = {"descr": np.lib.format.dtype_to_descr(kind), "fortran_order": False, "shape": shape}
    np.lib.format.write_array_header_1_0(file, header)
    for piece in sample_pieces(composed, progress):
        file.write(piece.astype(kind).tobytes())
