"""Write a picture as PNG with its resolution in it."""

from pathlib import Path

import numpy as np
import numpy.typing as npt

from tapewright.errors import WrongUseError


def write_scan(pixels: npt.NDArray[np.uint8], dpi: float, path: Path) -> None:
    """Write grey levels as PNG.

    Raises:
        WrongUseError: when the name does not end in .png.
    """
    from PIL import Image

    if path.suffix.lower() != ".png":
        raise WrongUseError(f"-o {path}: expected a name that ends in .png.")
    Image.fromarray(pixels).save(path, format="PNG", dpi=(dpi, dpi))
