"""Held-out coils: another model, another method than the practice machine's, and none of its code.

Flux linkage is the state (not current), the inductance falls exponentially with the gap (not as 1 / gap), the spring
is a preloaded leaf, the landing is an event of scipy's LSODA, and the operations of a file differ a little.
"""

from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp


@dataclass(frozen=True)
class OtherCoil:
    volts: float
    coil_ohm: float
    series_ohm: float
    open_h: float
    closed_h: float
    gap_m: float
    mass_kg: float
    preload_a: float
    drag: float
    stuck: bool
    rebound: float = 0.0
    kick_v: float = 30.0

    @property
    def level_a(self):
        return self.volts / (self.coil_ohm + self.series_ohm)


def draw_coil(rng, *, stuck):
    """Draw a coil on a supply of 6 to 60 V with a time constant of 1.5 to 15 ms."""
    level = rng.uniform(0.02, 0.5)
    tau, coil_ohm = rng.uniform(1.5e-3, 15e-3), rng.uniform(20, 300)
    series = rng.choice([0.0, rng.uniform(20, 400)])
    total = coil_ohm + series
    open_h = tau * total
    return OtherCoil(
        level * total, coil_ohm, series, open_h, open_h * rng.uniform(1.2, 1.9), rng.uniform(0.2e-3, 1e-3),
        rng.uniform(1.5e-3, 2e-2), level * rng.uniform(0.25, 0.6), rng.uniform(0.2, 2.0), stuck,
        rng.choice([0.0, 0.0, 0.25]),
    )  # fmt: skip


def operate(coil, on_s, off_s, end_s, grid_s, hits=None):
    """Return current on the grid and the first landing (None: none) for one closing; `hits` takes (where, when)."""
    decay = coil.gap_m / 1.5
    growth = (coil.closed_h - coil.open_h) / (1 - np.exp(-1.5))
    base = coil.closed_h - growth
    # in units that suit a machine: force scale from the current that just lifts the armature
    pull_scale = growth * np.exp(-1.5) / decay / 2 * coil.preload_a**2
    total_ohm = coil.coil_ohm + coil.series_ohm

    def l_of(x):
        return base + growth * np.exp(-x / decay)

    def rates(t, s, closed):
        flux, x, v = s
        current = flux / l_of(x)
        volts = coil.volts if closed else -coil.kick_v * (current > 1e-5)
        flux_rate = volts - (total_ohm if closed else coil.coil_ohm) * current
        if coil.stuck:
            return [flux_rate, 0.0, 0.0]
        pull = growth / decay * np.exp(-x / decay) / 2 * current**2
        spring = pull_scale * (1 + 0.5 * (1 - x / coil.gap_m))
        force = spring - pull - coil.drag * v
        held = (x >= coil.gap_m and force > 0 and v >= 0) or (x <= 0 and force < 0 and v <= 0)
        return [flux_rate, 0.0, 0.0] if held else [flux_rate, v, force / coil.mass_kg]

    def lands(t, s, closed):
        return s[1] if s[2] < 0 else 1.0

    def returns(t, s, closed):
        return coil.gap_m - s[1] if s[2] > 0 else 1.0

    def dead(t, s, closed):
        return s[0] / l_of(s[1]) - 2e-5

    lands.terminal = returns.terminal = dead.terminal = True
    lands.direction = returns.direction = dead.direction = -1
    state, now, landing = [0.0, coil.gap_m, 0.0], on_s, None
    current = np.zeros(grid_s.size)
    for closed, until in ((True, off_s), (False, end_s)):
        while now < until - 1e-12:
            events = [lands, returns] if closed else [lands, returns, dead]
            step = 2e-5 if closed else 1e-4
            found = solve_ivp(
                rates, (now, until), state, method="LSODA", args=(closed,), events=events, dense_output=True,
                rtol=1e-7, atol=1e-10, max_step=step * 10,
            )  # fmt: skip
            inside = (grid_s >= now) & (grid_s < found.t[-1])
            path = found.sol(grid_s[inside]) if inside.any() else np.zeros((3, 0))
            current[inside] = path[0] / l_of(path[1])
            state, now = list(found.y[:, -1]), float(found.t[-1])
            if found.status == 0:
                break
            hit = [len(e) > 0 for e in found.t_events]
            if hits is not None and (hit[0] or hit[1]):
                hits.append(("pole" if hit[0] else "stop", now))
            if hit[0]:
                landing = now if landing is None and closed else landing
                speed = -coil.rebound * state[2]
                state[1:] = [0.0 if speed < 5e-3 else 1e-9, 0.0 if speed < 5e-3 else speed]
            elif hit[1]:
                state[1:] = [coil.gap_m, 0.0]
            else:
                return current, landing
    return current, landing


def recording(rng, coil, *, operations=3, rate_hz=10_000.0, noise=0.01, offset=0.0, inverted=False, corner_hz=0.0):
    """Return samples in ampere, and for each closing its (on, landing) in seconds."""
    on_length = max(10 * coil.closed_h / (coil.coil_ohm + coil.series_ohm), 0.03)
    off_length = max(0.02, 4 * coil.level_a * coil.closed_h / 30)
    period = on_length + off_length
    count = int((operations * period + 0.02) * rate_hz)
    times = np.arange(count) / rate_hz
    current, truth = np.zeros(count), []
    for number in range(operations):
        on = 0.01 + number * period + rng.uniform(0, 2e-4)
        end = on + period if number + 1 < operations else times[-1] + 1
        piece, landing = operate(coil, on, on + on_length, min(end, times[-1]), times)
        current += piece
        truth.append((on, landing))
    if corner_hz:
        keep = np.exp(-2 * np.pi * corner_hz / rate_hz)
        level, out = 0.0, np.empty(count)
        for n, change in enumerate(np.diff(current, prepend=0.0)):
            level = level * keep + change
            out[n] = level
        current = out
    samples = current + offset * coil.level_a + rng.normal(0, noise * coil.level_a, count)
    return (-samples if inverted else samples), truth
