r"""Many drives with an rc at once: two states (coil current, capacitor voltage) in closed form.

In each state of the switch x' = A (x - x_end), so x(t) = x_end + exp(A t) (x - x_end), and the 2 x 2 exponential is

    exp(A t) = e^{m t} ( c(t) I + s(t) (A - m I) ),   m = trace / 2,   d = m^2 - det
    c = cosh(sqrt(d) t), s = sinh(sqrt(d) t) / sqrt(d);  cos and sin where d is negative

The instant at which the current meets its level is found on a grid and by Newton's method inside its cell.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from tapewright.coil.drive.drive import Drive, Suppressor

FloatArray = npt.NDArray[np.float64]
GRID_POINTS, NEWTON_STEPS = 24, 3


@dataclass(slots=True, eq=False)
class _Linear:
    """x' = A (x - x_end) for n drives: a, b, c, d of A, each (n,), and x_end (2, n)."""

    a: FloatArray
    b: FloatArray
    c: FloatArray
    d: FloatArray
    end: FloatArray
    _cache: dict[float, tuple[FloatArray, ...]] = field(default_factory=dict)
    _grids: dict[float, tuple[FloatArray, tuple[FloatArray, ...]]] = field(default_factory=dict)

    def step(self, t: FloatArray | float) -> tuple[FloatArray, ...]:
        """Return the four entries of exp(A t), each of the shape of t broadcast with (n,)."""
        middle = (self.a + self.d) / 2
        root2 = middle**2 - (self.a * self.d - self.b * self.c)
        root = np.sqrt(np.abs(root2))
        angle = root * t
        # exponents are kept together so that nothing overflows: the faster mode only ever dies
        real = root2 > 0
        up, down = np.exp((middle + np.where(real, root, 0.0)) * t), np.exp((middle - np.where(real, root, 0.0)) * t)
        cosine = np.where(real, (up + down) / 2, up * np.cos(angle))
        size = np.maximum(root, 1e-12)
        sine = np.where(real, (up - down) / 2, up * np.sin(angle)) / size
        return (
            cosine + sine * (self.a - middle), sine * self.b, sine * self.c, cosine + sine * (self.d - middle)
        )  # fmt: skip

    def after(self, x: FloatArray, t: float) -> FloatArray:
        """Return the state after t, the same for all, shape (2, n)."""
        if t not in self._cache:
            self._cache[t] = self.step(t)
        e = self._cache[t]
        i, u = x - self.end
        return np.stack([self.end[0] + e[0] * i + e[1] * u, self.end[1] + e[2] * i + e[3] * u])

    def grid(self, x: FloatArray, length: float) -> tuple[FloatArray, FloatArray]:
        """Return the grid times, shape (g,), and the coil current there, shape (g, n)."""
        if length not in self._grids:
            times = length * (np.arange(1, GRID_POINTS + 1) / GRID_POINTS) ** 2
            self._grids[length] = times, self.step(times[:, None])
        times, e = self._grids[length]
        i, u = x - self.end
        return times, self.end[0] + e[0] * i + e[1] * u

    def current_and_slope(self, x: FloatArray, t: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the coil current and its slope after times t, shape (n,)."""
        e = self.step(t)
        i, u = x - self.end
        di, du = e[0] * i + e[1] * u, e[2] * i + e[3] * u
        return self.end[0] + di, self.a * di + self.b * du


@dataclass(frozen=True, slots=True, eq=False)
class RcDrives:
    """Drives with an rc, all across the contact or all across the coil.

    Attributes:
        pull_in_a: of the coil.
        drop_out_a: of the coil.
        on: the circuit closed.
        off: the circuit open.
        peak_v: highest voltage across the switch after a long mark, shape (n,).
        travel_s: travel of the armature in.
        return_s: and out.
    """

    pull_in_a: float
    drop_out_a: float
    on: _Linear
    off: _Linear
    peak_v: FloatArray
    travel_s: float
    return_s: float

    @classmethod
    def of(cls, drive: Drive, series_ohm: FloatArray, parts: Sequence[Suppressor]) -> "RcDrives":
        """Set up the drives, one rc for each resistor."""
        coil, volts = drive.coil, drive.supply.volts
        r, c = np.array([part.r_ohm for part in parts]), np.array([part.c_f for part in parts])
        inductance, rc, rs = coil.l_h, coil.r_ohm, series_ohm
        zero, steady = np.zeros_like(rs), volts / (rc + rs)
        if parts[0].across_contact:
            on = _Linear(-(rc + rs) / inductance, zero, zero, -1 / (r * c), np.stack([steady, zero]))
            charged = np.stack([zero, zero + volts])
            off = _Linear(-(rc + rs + r) / inductance, zero - 1 / inductance, 1 / c, zero, charged)
        else:
            share = 1 / (1 + rs / r)
            on = _Linear(
                -(rc + rs * share) / inductance, rs / r * share / inductance, -rs * share / (r * c),
                (rs / r * share - 1) / (r * c), np.stack([steady, steady * rc]),
            )  # fmt: skip
            off = _Linear(-(rc + r) / inductance, zero + 1 / inductance, -1 / c, zero, np.stack([zero, zero]))
        made = cls(coil.pull_in_a, coil.drop_out_a, on, off, zero, coil.travel_s, coil.return_s)
        peak = made._peak(volts, r, across_contact=parts[0].across_contact)
        return cls(coil.pull_in_a, coil.drop_out_a, on, off, peak, coil.travel_s, coil.return_s)

    @property
    def count(self) -> int:
        """How many."""
        return int(self.on.a.size)

    def held(self) -> FloatArray:
        """Return the state after a long mark."""
        return self.on.end

    def closed(self, state: FloatArray, length_s: float) -> tuple[FloatArray, FloatArray]:
        """Close for a while: give the operate time (infinite: not within it) and the state after it."""
        delay = self._settles(self.on, state, length_s, in_=True) + self.travel_s
        return np.where(delay < length_s, delay, np.inf), self.on.after(state, length_s)

    def opened(self, state: FloatArray, length_s: float) -> tuple[FloatArray, FloatArray]:
        """Open for a while: give the release time and the state after it."""
        delay = self._settles(self.off, state, length_s, in_=False) + self.return_s
        return np.where(delay < length_s, delay, np.inf), self.off.after(state, length_s)

    def _settles(self, circuit: _Linear, state: FloatArray, length_s: float, *, in_: bool) -> FloatArray:
        """Return when the armature has started for good, infinite when it has not by the end.

        That is the first time |i| is past its level after the last time it was past the other level: ringing may call
        it back in between.
        """
        times, current = circuit.grid(state, length_s)
        signed = np.vstack([state[0], current])
        sizes = np.abs(signed)
        times = np.append(0.0, times)
        level = self.pull_in_a if in_ else self.drop_out_a
        back = sizes < self.drop_out_a if in_ else sizes > self.pull_in_a
        places = np.arange(GRID_POINTS + 1)[:, None]
        last_back = np.where(back, places, 0).max(axis=0)
        # falling: the sign it is held by, so that a quick pass through zero between two grid points is not missed
        sign = np.sign(signed[last_back, np.arange(last_back.size)])
        there = sizes >= level if in_ else signed * sign <= level
        if not in_:
            sizes = signed * sign
        after = there & (places >= last_back)
        never, index = ~after.any(axis=0), after.argmax(axis=0)
        every, before = np.arange(index.size), np.maximum(index - 1, 0)
        low, high = times[before], times[index]
        first, second = sizes[before, every] - level, sizes[index, every] - level
        with np.errstate(divide="ignore", invalid="ignore"):
            t = np.where(first * second < 0, low + (high - low) * first / (first - second), high)
            for _ in range(NEWTON_STEPS):
                i, slope = circuit.current_and_slope(state, t)
                side = np.sign(i) if in_ else sign
                t = np.clip(np.nan_to_num(t - (side * i - level) / (side * slope), nan=0.0), low, high)
        return np.where(never, np.inf, t)

    def _peak(self, volts: float, r: FloatArray, *, across_contact: bool) -> FloatArray:
        """Return the highest voltage across the switch within the first periods after opening a long mark."""
        span = 2 * np.pi / np.maximum(self._speed(), 1e-9)
        shares = np.linspace(0.0, 1.0, 160)[:, None] ** 2
        e = self.off.step(shares * span)
        i, u = self.on.end - self.off.end
        current = self.off.end[0] + e[0] * i + e[1] * u
        capacitor = self.off.end[1] + e[2] * i + e[3] * u
        across = capacitor + r * current if across_contact else volts - capacitor + r * current
        return np.asarray(np.maximum(across.max(axis=0), volts))

    def _speed(self) -> FloatArray:
        """Natural angular frequency of the open circuit."""
        return np.asarray(np.sqrt(np.abs(self.off.a * self.off.d - self.off.b * self.off.c)))
