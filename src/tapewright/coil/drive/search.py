r"""Which resistor and which suppressor: thousands of drives at once, each with real characters.

Picture (dots = drives; the box holds what meets the limits; the best lies in it at the lowest heat):

    bias % |      .    . :
           |   .   . :                limits
           |----------------------+
           |     . : . *          |
           +----------------------+---- volts across the contact

The same physics as circuit.py in closed form, for all drives at once (arrays over drives): with a clamp the
current is one exponential in each state of the switch; an rc is two states, solved by its own 2 x 2 exponential.
A supply that would run into its limit is not offered: its instants would be those of its recovery.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tapewright.coil.drive.drive import Drive, Kind, Suppressor
from tapewright.coil.drive.rc_search import RcDrives
from tapewright.coil.stream import instants_of

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Wish:
    """What the drive should do.

    Attributes:
        bias_percent: largest displacement of any instant against its start, percent of the unit.
        contact_v: highest voltage across the opening contact.
        current_ratio: steady current at least this many times the pull-in current.
        resistor_w: most heat in the resistor held in mark; infinite when it does not matter.
    """

    bias_percent: float
    contact_v: float
    current_ratio: float
    resistor_w: float = float("inf")


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """All drives that were tried; every array has shape (n,).

    Attributes:
        series_ohm: the resistor.
        part: index of the suppressor.
        parts: the suppressors.
        worst_percent: largest displacement of any instant over the text, percent of the unit; infinite when an element
            is missed.
        bias_percent: mean release minus operate, percent of the unit.
        peak_v: highest voltage across the opening contact.
        resistor_w: heat in the resistor held in mark.
        steady_a: steady current.
        meets: which meet the wish.
    """

    series_ohm: FloatArray
    part: npt.NDArray[np.int64]
    parts: tuple[Suppressor, ...]
    worst_percent: FloatArray
    bias_percent: FloatArray
    peak_v: FloatArray
    resistor_w: FloatArray
    steady_a: FloatArray
    meets: BoolArray

    def best(self) -> tuple[int, ...]:
        """Return for each kind of suppressor the drive that meets the wish with the least heat in the resistor."""
        chosen = []
        kinds = np.array([list(Kind).index(part.kind) for part in self.parts])[self.part]
        for kind in range(len(Kind)):
            these = np.flatnonzero(self.meets & (kinds == kind))
            if these.size:
                order = np.lexsort((self.peak_v[these], self.worst_percent[these], np.round(self.resistor_w[these], 3)))
                chosen.append(int(these[order[0]]))
        return tuple(sorted(chosen, key=lambda n: (self.resistor_w[n], self.peak_v[n])))


def search(
    drive: Drive,
    resistors_ohm: FloatArray,
    parts: Sequence[Suppressor],
    wish: Wish,
    codes: Sequence[str],
    *,
    unit_s: float,
    stop_units: float,
) -> Found:
    """Try every resistor with every suppressor on a text.

    Args:
        drive: coil, supply and switch; its own resistor and suppressor are left aside.
        resistors_ohm: shape (m,).
        parts: k suppressors.
        wish: what it should do.
        codes: the text.
        unit_s: length of a unit.
        stop_units: length of the stop.
    """
    series = np.repeat(np.asarray(resistors_ohm, dtype=np.float64), len(parts))
    index = np.tile(np.arange(len(parts), dtype=np.int64), len(resistors_ohm))
    worst, bias, peak = np.full(series.size, np.inf), np.full(series.size, np.nan), np.full(series.size, np.inf)
    steady = drive.supply.volts / (drive.coil.r_ohm + series)
    works = (steady > drive.coil.pull_in_a) & (steady <= drive.supply.limit_a)
    is_rc = np.array([part.kind is Kind.RC for part in parts])[index]
    across = np.array([part.across_contact for part in parts])[index]
    sent, _ = instants_of(codes, unit_s, stop_units)
    text = _Text(
        np.array([i.at_s for i in sent]), np.array([i.to_mark for i in sent]), np.array([i.boundary for i in sent])
    )
    for family in (works & ~is_rc, works & is_rc & across, works & is_rc & ~across):
        chosen = np.flatnonzero(family)
        if chosen.size:
            these = [parts[n] for n in index[chosen]]
            model = (RcDrives if is_rc[chosen[0]] else ClampDrives).of(drive, series[chosen], these)
            worst[chosen], bias[chosen] = _follow(model, text, unit_s)
            peak[chosen] = model.peak_v
    heat = series * steady**2
    meets = (
        (worst <= wish.bias_percent) & (peak <= wish.contact_v) & (heat <= wish.resistor_w)
        & (steady >= wish.current_ratio * drive.coil.pull_in_a)
    )  # fmt: skip
    return Found(series, index, tuple(parts), worst, bias, peak, heat, steady, meets)


@dataclass(frozen=True, slots=True, eq=False)
class _Text:
    at_s: FloatArray
    to_mark: BoolArray
    boundary: npt.NDArray[np.int64]


def _follow(model: "ClampDrives | RcDrives", text: _Text, unit_s: float) -> tuple[FloatArray, FloatArray]:
    """Send the text; give the largest displacement and the mean bias, both percent of the unit, shape (n,)."""
    n = model.count
    lengths = np.diff(np.append(text.at_s, text.at_s[-1] + 1.5 * unit_s))
    missed, start, worst = np.zeros(n, dtype=bool), np.zeros(n), np.zeros(n)
    sums, counts = np.zeros((2, n)), [0, 0]
    state = model.held()
    for to_mark, boundary, length in zip(text.to_mark, text.boundary, lengths, strict=True):
        delay, state = model.closed(state, length) if to_mark else model.opened(state, length)
        missed |= ~np.isfinite(delay)
        delay = np.where(np.isfinite(delay), delay, 0.0)
        if boundary == 0:
            start = delay
        np.maximum(worst, np.abs(delay - start), out=worst)
        sums[int(to_mark)] += delay
        counts[int(to_mark)] += 1
    bias = sums[0] / max(counts[0], 1) - sums[1] / max(counts[1], 1)
    return np.where(missed, np.inf, worst / unit_s * 100), np.where(missed, np.nan, bias / unit_s * 100)


@dataclass(frozen=True, slots=True, eq=False)
class ClampDrives:
    """Drives whose suppressor is a fixed voltage with a resistance (none, diode, diode + r, zener); arrays (n,).

    Attributes:
        pull_in_a: of the coil.
        drop_out_a: of the coil.
        steady_a: where the closed current goes.
        tau_s: time constant closed.
        falls_to_a: where the open current would go if the clamp went on conducting (below zero).
        falls_tau_s: time constant open.
        peak_v: highest voltage across the switch.
        travel_s: travel of the armature in.
        return_s: and out.
    """

    pull_in_a: float
    drop_out_a: float
    steady_a: FloatArray
    tau_s: FloatArray
    falls_to_a: FloatArray
    falls_tau_s: FloatArray
    peak_v: FloatArray
    travel_s: float
    return_s: float

    @classmethod
    def of(cls, drive: Drive, series_ohm: FloatArray, parts: Sequence[Suppressor]) -> "ClampDrives":
        """Set up the drives, one suppressor for each resistor."""
        coil, volts = drive.coil, drive.supply.volts
        clamp = np.array([part.clamp_v(drive.breakdown_v) for part in parts])
        slope = np.array([part.r_ohm if part.kind in (Kind.DIODE_R, Kind.ZENER) else 0.0 for part in parts])
        on_contact = np.array([part.on_contact for part in parts])
        steady = volts / (coil.r_ohm + series_ohm)
        r_open = coil.r_ohm + slope + np.where(on_contact, series_ohm, 0.0)
        against = np.where(on_contact, clamp - volts, clamp)
        peak = np.where(on_contact, clamp, volts + clamp) + slope * steady
        return cls(
            coil.pull_in_a, coil.drop_out_a, steady, coil.l_h / (coil.r_ohm + series_ohm), -against / r_open,
            coil.l_h / r_open, peak, coil.travel_s, coil.return_s,
        )  # fmt: skip

    @property
    def count(self) -> int:
        """How many."""
        return int(self.steady_a.size)

    def held(self) -> FloatArray:
        """Return the state after a long mark: the current."""
        return self.steady_a

    def closed(self, state: FloatArray, length_s: float) -> tuple[FloatArray, FloatArray]:
        """Close for a while: give the operate time (infinite: not within it) and the state after it."""
        share = (self.steady_a - self.pull_in_a) / (self.steady_a - np.minimum(state, self.pull_in_a))
        delay = -self.tau_s * np.log(share) + self.travel_s
        after = self.steady_a + (state - self.steady_a) * np.exp(-length_s / self.tau_s)
        # still attracted from before: the space was missed, and that was counted when it was
        return np.where(delay < length_s, delay, np.inf), after

    def opened(self, state: FloatArray, length_s: float) -> tuple[FloatArray, FloatArray]:
        """Open for a while: give the release time and the state after it."""
        share = (self.drop_out_a - self.falls_to_a) / (np.maximum(state, self.drop_out_a) - self.falls_to_a)
        delay = np.where(share > 0, -self.falls_tau_s * np.log(np.maximum(share, 1e-300)), np.inf) + self.return_s
        after = self.falls_to_a + (state - self.falls_to_a) * np.exp(-length_s / self.falls_tau_s)
        return np.where(delay < length_s, delay, np.inf), np.maximum(after, 0.0)
