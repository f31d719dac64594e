"""The smallest step of printed times, seen from the times themselves."""

import numpy as np
import numpy.typing as npt


def decimal_quantum(times: npt.NDArray[np.float64]) -> float:
    """Give the power of ten that all of `times`, shape (n,), are whole multiples of; 0 when there is none.

    Times computed in binary floating point and not printed have none.
    """
    finite = times[np.isfinite(times)]
    some = np.abs(finite[:: max(1, finite.size // 500)])
    if not some.size or not some.max() > 0:
        return 0.0
    for digits in range(0, 13):
        scaled = some * 10.0**digits
        if scaled.max() > 2.0**52:
            break
        if (np.abs(scaled - np.round(scaled)) <= 1e-9 * np.maximum(1.0, scaled)).all():
            return float(10.0**-digits)
    return 0.0
