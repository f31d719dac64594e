"""What the mere figures of a recording say against the instrument."""

from tapewright.core.line.capture import Suspicion

#: 0.1 ms is half a per cent of a 20 ms unit, the floor for any judgement of timing; common practice, no source
COARSE_S = 0.0001


def too_few_samples(interval_s: float, edges: int) -> tuple[Suspicion, ...]:
    """Say when samples lie so far apart that single instants are doubtful."""
    if not edges or interval_s <= COARSE_S * 1.000001:
        return ()
    evidence = (
        f"one every {interval_s * 1e3:.3g} ms: an edge between two of them is known to "
        f"{interval_s * 1e3 / 12**0.5:.2g} ms (standard uncertainty)"
    )
    do = "Record at 50 000 samples a second or more; until then trust means over many characters only."
    return (Suspicion("too low a sample rate", evidence, do),)
