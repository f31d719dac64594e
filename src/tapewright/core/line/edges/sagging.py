"""Levels that sag: find how, put them back, find the edges in what was put back."""

from collections.abc import Callable
from dataclasses import dataclass

from tapewright.core.line.capture import Suspicion
from tapewright.core.line.edges.analogue import EdgeStream, Instants, join
from tapewright.core.line.edges.blocks import Extremes, Thresholds
from tapewright.core.line.edges.coupling_fit import CouplingFound, find_coupling
from tapewright.core.line.edges.lively import Readable
from tapewright.core.line.edges.slow import slow_edges
from tapewright.core.line.edges.stretch import lively_stretch

PIECE = 1 << 20
#: fewer samples a second show no edge of a step
SLOWEST_HZ = 2000.0
#: the time after which the loss of a step is told: one unit at 50 baud
TOLD_AFTER_S = 0.020


@dataclass(frozen=True, slots=True, eq=False)
class Sagging:
    """How the levels sag, and what else was seen of it."""

    found: CouplingFound
    slow: Suspicion | None

    def suspicions(self) -> tuple[Suspicion, ...]:
        """Say it with its figures."""
        coupling = self.found.coupling
        lost = 100 * coupling.droop(TOLD_AFTER_S)
        evidence = (
            f"levels sag with a corner of {coupling.corner_hz:.2g} Hz ({'first' if coupling.order == 1 else 'second'} "
            f"order): a step has lost {lost:.0f} % after {TOLD_AFTER_S * 1e3:.0f} ms; edges were taken from the steps, "
            "the idle level cannot be seen"
        )
        do = "Record with DC coupling where you can: a steady mark then stays where it is."
        said = Suspicion("AC coupling", evidence, do)
        return (said,) if self.slow is None else (said, self.slow)


def sagging_levels(reader: Readable, channel: int, kept: Extremes, interval_s: float) -> Sagging | None:
    """Find how the levels sag; None when they do not."""
    if interval_s <= 0 or interval_s * SLOWEST_HZ > 1:
        return None
    samples, step = lively_stretch(reader, channel, kept, interval_s)
    rate_hz = 1 / (interval_s * step)
    found = find_coupling(samples, rate_hz)
    if found is None:
        return None
    scout = found.stream(rate_hz, None)
    scout.feed(samples)
    restored = found.stream(rate_hz, scout.starts_high).feed(samples)
    return Sagging(found, slow_edges(restored, 0.0, found.step, found.noise, interval_s * step))


def restore(
    reader: Readable, channel: int, sagging: Sagging, interval_s: float, progress: Callable[[float], None]
) -> tuple[Instants, bool | None]:
    """Give the edges of the restored levels, and the level before the first."""
    found, rate_hz = sagging.found, 1 / interval_s
    scout = found.stream(rate_hz, None)
    for first in range(0, reader.count, PIECE):
        scout.feed(reader.read(first, min(PIECE, reader.count - first))[channel])
        if scout.starts_high is not None:
            break
    restored = found.stream(rate_hz, scout.starts_high)
    edges = EdgeStream(restored_thresholds(found.step), swing=found.step, noise=found.noise)
    parts = []
    for first in range(0, reader.count, PIECE):
        samples = reader.read(first, min(PIECE, reader.count - first))[channel]
        parts.append(edges.feed(restored.feed(samples)))
        progress(min(1.0, (first + PIECE) / reader.count))
    return join(parts), scout.starts_high


def restored_thresholds(step: float) -> Thresholds:
    """Give where low ends and high begins when low is 0 and high is `step`."""
    return Thresholds(0.4 * step, 0.5 * step, 0.6 * step)
