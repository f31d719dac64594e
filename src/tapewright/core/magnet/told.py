"""Whether a landing is known well enough to be told, and what is said where it is not."""

from dataclasses import replace

from tapewright.core.magnet.closing_read import ClosingRead
from tapewright.core.measurement import missing

#: A landing whose expanded doubt (2u) is above this, and above one sample, is not told. Chosen for the use: it is
#: under one per cent of a unit of 22 ms; a landing known less well moves when nothing else has.
MOST_DOUBT_MS = 0.16


def told(read: ClosingRead, rate_hz: float) -> ClosingRead:
    """Give a closing's read without its landing where noise or sampling leave that too open."""
    landing = read.landing
    if landing.value is None or landing.u is None or 2 * landing.u <= max(MOST_DOUBT_MS, 1e3 / rate_hz):
        return read
    if len(read.jumps_s) > 1:
        at = " and ".join(f"{1e3 * jump:.1f}" for jump in read.jumps_s)
        how = f"cannot tell when it landed: the slope jumps up at about {at} ms, as with two landings or two armatures"
        return replace(read, landing=missing("ms", how), extra_kinks_s=read.jumps_s)
    about = f"about {landing.value:.1f} ms after the closing, open by ± {2 * landing.u:.2f} ms"
    return replace(read, landing=missing("ms", f"cannot tell when it landed: {about}"))


def untold_note(reads: tuple[ClosingRead, ...]) -> tuple[str, ...]:
    """Say how many landings are not told, and the first one's reason; empty where all are."""
    untold = [read for read in reads if read.moved and read.landing.value is None]
    if not untold:
        return ()
    first = f"closing at {untold[0].on_s:.4f} s: {untold[0].landing.how}"
    return (f"{len(untold)} of {len(reads)} landings not told; {first}",)
