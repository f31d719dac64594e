"""From samples to recordings, the same for every format that holds samples."""

from collections.abc import Sequence
from typing import Protocol

from tapewright.adapters.capture_files.options import Options
from tapewright.core.line.capture import FloatArray, Recording, Suspicion
from tapewright.core.line.edges.clock import Clock, RegularClock
from tapewright.core.line.edges.extract import SampleReader, extract


class ClosableReader(SampleReader, Protocol):
    """Samples that hold a file open."""

    def close(self) -> None:
        """Let go of it."""


def record_samples(
    reader: ClosableReader,
    clock: Clock,
    *,
    kind: str,
    names: Sequence[str],
    chosen: Sequence[int],
    options: Options,
    suspicions: tuple[Suspicion, ...] = (),
    missing: FloatArray | None = None,
) -> tuple[Recording, ...]:
    """Find the edges of every channel of `reader`, which gives those of `names` that were `chosen`."""
    if options.tap is not None:
        options.tap(reader, clock, tuple(names[index] for index in chosen))
        reader.close()
        return ()
    try:
        found = extract(
            reader,
            clock,
            thresholds=options.thresholds(),
            suspicions=suspicions,
            missing=missing,
            progress=options.progress,
        )
    finally:
        reader.close()
    rate_hz = 1 / clock.interval_s if isinstance(clock, RegularClock) else None
    return tuple(
        Recording(
            edges=each.edges,
            kind=kind,
            channel=names[index],
            channels=tuple(names),
            samples=reader.count,
            rate_hz=rate_hz,
            threshold_v=None if each.thresholds is None else (each.thresholds.low, each.thresholds.high),
        )
        for index, each in zip(chosen, found, strict=True)
    )
