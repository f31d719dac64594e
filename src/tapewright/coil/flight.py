r"""The armature's flight, computed: what the current does from the closing of the switch to well after the landing.

Picture (s = the way gone: 0 at its stop, 1 on the pole; y = i / I):

    y  1 |            ..            ________-----      s  1 |           /''\/-------
         |        .''   '.      _--'                        |          /
         |     .'         '.  .'                            |         .
         |   .'             \/                              |       .'
       0 |__.'                                            0 |_____.'
           t0       start  landing  hop                          start   landing

    electrical   z' = 1 - y,    y = (z / T(s) + saturation(z) + eddy) / (1 + eddy),    T(s) = T1 (1 + growth g(s))
    magnetic     pull = (z / T)^2 dT/ds (the co-energy's slope, any textbook on electromechanics)
    mechanical   s'' = (pull / pull at the start - 1 - stiffening s) / scale^2 - drag s'

z is the flux linkage over the steady current. Eddy currents are one closed turn beside the winding. g's slope rises
from the stop to the pole: law and prior in flight_priors.py.
Classical Runge-Kutta steps of fourth order for many flights at once; between the steps Hermite's cubic.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from tapewright.coil.coil_recording import FloatArray

#: columns of a flight's parameters
LEVEL, LOG_T1, LOG_GROWTH, START, LOG_SCALE, STIFFENS, STEEPENS, LOG_DRAG, EDDY, SOFT, SHARP, LOG_REBOUND = range(12)
COUNT = 12
#: steps before the start, in flight, in each hop, and after
BEFORE, FLYING, HOPS, AFTER = 6, 24, (6, 4), 12
#: the steps in flight reach this many times the guessed length
REACH = 1.35
#: points between two steps at which the current is given
BETWEEN = 4
_GAUSS_X, _GAUSS_W = np.polynomial.legendre.leggauss(12)
#: below this rebound (its logarithm) there is no hop
NO_REBOUND = -6.0


@dataclass(frozen=True, slots=True, eq=False)
class Flights:
    """Some flights.

    Attributes:
        landed: shape (b,), False where the armature did not arrive within the steps.
        starts_s: shape (b,), when it left its stop, from the closing of the switch.
        landings_s: shape (b,), when it arrived.
        hops_s: shape (b,), length of the first hop.
        times_s: shape (n, b), from the closing of the switch.
        shares: shape (n, b), current there over the steady current.
    """

    landed: np.ndarray
    starts_s: FloatArray
    landings_s: FloatArray
    hops_s: FloatArray
    times_s: FloatArray
    shares: FloatArray

    def at(self, number: int, times_s: FloatArray) -> FloatArray:
        """Return one flight's current over the steady current, shape of the times; 0 before the closing."""
        return np.asarray(np.interp(times_s, self.times_s[:, number], self.shares[:, number], left=0.0))


@dataclass(slots=True)
class _Coils:
    """The flights' parameters in the form the equations need, each shape (b,); what they need often is kept."""

    t1: FloatArray
    growth: FloatArray
    steep: FloatArray
    eddy: FloatArray
    soft: FloatArray
    sharp: FloatArray
    start: FloatArray
    quick: FloatArray
    stiffens: FloatArray
    drag: FloatArray
    bend: FloatArray = field(init=False)
    rise: FloatArray = field(init=False)
    per_t2: FloatArray = field(init=False)
    winding: FloatArray = field(init=False)
    saturates: bool = field(init=False)

    def __post_init__(self) -> None:
        top = np.exp(self.steep / 3)
        self.bend, self.rise = 1 - 1 / top, self.growth / (top * top - 1)
        self.saturates = bool(self.soft.any() or self.sharp.any())
        self.per_t2, self.winding = 1 / (self.t1 * (1 + self.growth)), 1 / (1 + self.eddy)

    @classmethod
    def of(cls, p: FloatArray, heavier: FloatArray) -> "_Coils":
        t1, growth = np.exp(p[:, LOG_T1]), np.exp(p[:, LOG_GROWTH])
        quick = np.exp(-2 * p[:, LOG_SCALE]) / t1**2
        # the slope of L rises at least as it does where the reluctance falls evenly with the gap
        steep = np.maximum(p[:, STEEPENS] + 2 * np.log1p(growth), 0.05)
        start = np.minimum(np.exp(heavier / 2) / (1 + np.exp(-p[:, START])), 0.995)
        drag = np.exp(p[:, LOG_DRAG]) * np.sqrt(quick)
        return cls(t1, growth, steep, p[:, EDDY], p[:, SOFT], p[:, SHARP], start, quick, p[:, STIFFENS], drag)

    def growing(self, way: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return L over L at the stop, and its slope over the slope there: slope = 1 / (1 - bend s)^3."""
        inverse = 1 / (1 - self.bend * way)
        square = inverse * inverse
        return 1 + self.rise * (square - 1), square * inverse

    def constant_s(self, way: FloatArray) -> FloatArray:
        """Return L / R at a way."""
        return self.t1 * self.growing(way)[0]

    def share(self, z: FloatArray, linear: FloatArray) -> FloatArray:
        """Return y from z and z / T: iron takes more current the more flux it carries, softly or with a sharp knee."""
        if not self.saturates:
            return (linear + self.eddy) * self.winding
        q = z * self.per_t2
        cube = q * q * q
        return (linear + (self.soft + self.sharp * cube * cube) * cube + self.eddy) * self.winding


@dataclass(slots=True)
class _Path:
    """Where the steps led: time, z, way and speed at each, shape (b,) each."""

    times: list[FloatArray]
    z: list[FloatArray]
    way: list[FloatArray]
    speed: list[FloatArray]

    def put(self, time: FloatArray, z: FloatArray, way: FloatArray, speed: FloatArray) -> None:
        self.times.append(time)
        self.z.append(z)
        self.way.append(way)
        self.speed.append(speed)


def fly(
    parameters: FloatArray,
    heavier: FloatArray,
    spans_s: FloatArray,
    flights_s: FloatArray,
    *,
    landing_only: bool = False,
    finer: int = 1,
) -> Flights:
    """Compute flights.

    Args:
        parameters: shape (b, COUNT).
        heavier: shape (b,), logarithm of what the spring asks more than usual at this closing.
        spans_s: shape (b,), for how long after the closing the current is wanted.
        flights_s: shape (b,), about how long the armature is under way.
        landing_only: leave out what follows the landing.
        finer: how many times more steps in flight.
    """
    coils = _Coils.of(parameters, heavier)
    z = coils.t1 * coils.start
    starts = _starts(coils, z)
    path, nought = _Path([], [], [], []), np.zeros(z.size)
    if not landing_only:
        _walk(coils, path, nought, nought, starts, BEFORE, lambda _: (nought, nought))
    landings, speed, z, landed = _air(coils, path, z, starts, flights_s, FLYING * finer)
    hops = nought
    if not landing_only:
        now = landings
        if bool((parameters[:, LOG_REBOUND] > NO_REBOUND).any()):
            z, now, hops = _hop(coils, path, z, now, speed, parameters[:, LOG_REBOUND], spans_s)
        rest = np.maximum(spans_s - now, 1e-3 * coils.t1)
        pole = np.ones(z.size)
        z = _walk(coils, path, z, now, rest, AFTER, lambda _: (pole, nought), slow_end=True)
        path.put(now + rest, z, pole, nought)
    times, shares = (np.empty((0, z.size)),) * 2 if landing_only else _refined(coils, path)
    return Flights(np.asarray(landed & np.isfinite(landings)), starts, landings, hops, times, shares)


def _starts(coils: _Coils, z: FloatArray) -> FloatArray:
    """Return when z is reached with the armature at its stop: the integral of dz / z', by Gauss's rule."""
    at = z * (_GAUSS_X[:, None] + 1) / 2
    slope = 1 - coils.share(at, at / coils.t1)
    return np.asarray(z / 2 * (_GAUSS_W[:, None] / np.maximum(slope, 1e-3)).sum(axis=0))


def _walk(
    coils: _Coils, path: _Path, z: FloatArray, begin: FloatArray, length: FloatArray, steps: int,
    moves: Callable[[FloatArray], tuple[FloatArray, FloatArray]], *, slow_end: bool = False,
) -> FloatArray:  # fmt: skip
    """Go through a stretch whose way and speed are known beforehand, and give z at its end."""
    places = np.arange(steps + 1) / steps
    marks = length * (places * places if slow_end else places)[:, None]
    ways, speeds = moves(marks)
    per_t = np.broadcast_to(1 / coils.constant_s(ways), marks.shape)
    per_t_between = np.broadcast_to(1 / coils.constant_s(moves((marks[1:] + marks[:-1]) / 2)[0]), marks[1:].shape)
    ways, speeds = np.broadcast_to(ways, marks.shape), np.broadcast_to(speeds, marks.shape)
    for n in range(steps):
        h, between = marks[n + 1] - marks[n], per_t_between[n]
        path.put(begin + marks[n], z, ways[n], speeds[n])
        a = 1 - coils.share(z, z * per_t[n])
        zb = z + h / 2 * a
        b = 1 - coils.share(zb, zb * between)
        zc = z + h / 2 * b
        c = 1 - coils.share(zc, zc * between)
        zd = z + h * c
        d = 1 - coils.share(zd, zd * per_t[n + 1])
        z = z + h / 6 * (a + 2 * (b + c) + d)
    return z


def _air(
    coils: _Coils, path: _Path, z: FloatArray, starts: FloatArray, flights_s: FloatArray, steps: int
) -> tuple[FloatArray, FloatArray, FloatArray, np.ndarray]:
    """Fly from the stop to the pole; give when it landed, its speed, z there, and whether it did."""
    lift, fastest = 1 / coils.start**2, 60 * np.sqrt(coils.quick)

    def rates(z: FloatArray, s: FloatArray, v: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        larger, steeper = coils.growing(s)
        linear = z / (coils.t1 * larger)
        push = coils.quick * (linear * linear * steeper * lift - 1 - coils.stiffens * s) - coils.drag * v
        return 1 - coils.share(z, linear), v, push

    def step(z: FloatArray, s: FloatArray, v: FloatArray, h: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        a, b, c, half = *rates(z, s, v), h / 2
        a2, b2, c2 = rates(z + half * a, s + half * b, v + half * c)
        a3, b3, c3 = rates(z + half * a2, s + half * b2, v + half * c2)
        a4, b4, c4 = rates(z + h * a3, s + h * b3, v + h * c3)
        sixth = h / 6
        z, s = z + sixth * (a + 2 * (a2 + a3) + a4), s + sixth * (b + 2 * (b2 + b3) + b4)
        return z, s, v + sixth * (c + 2 * (c2 + c3) + c4)

    h, s, v = flights_s * REACH / steps, np.zeros(z.size), np.zeros(z.size)
    nodes = np.empty((steps + 1, 3, z.size))
    nodes[0] = z, s, v
    for n in range(steps):
        z, s, v = step(z, s, v, h)
        # beyond the pole it does not matter where it goes, as long as it stays a number
        s, v = np.clip(s, -0.5, 1.25), np.clip(v, -fastest, fastest)
        nodes[n + 1] = z, s, v
    over = nodes[:, 1] >= 1
    landed = over.any(axis=0)
    last = np.maximum(np.where(landed, over.argmax(axis=0), steps) - 1, 0)
    each = np.arange(z.size)
    z0, s0, v0 = (nodes[last, row, each] for row in range(3))
    part = h * np.clip((1 - s0) / np.maximum(nodes[last + 1, 1, each] - s0, 1e-12), 0, 1)
    for _ in range(3):
        zl, sl, vl = step(z0, s0, v0, part)
        part = np.clip(part + (1 - sl) / np.maximum(vl, 1e-6 * fastest), 0, h)
    landings = np.where(landed, starts + last * h + part, starts + h * steps)
    pole = np.ones(z.size)
    for n in range(steps + 1):
        there = n > last
        time = np.where(there, landings, starts + n * h)
        path.put(time, *(np.where(there, end, nodes[n, row]) for row, end in enumerate((zl, pole, vl))))
    return landings, vl, zl, np.asarray(landed)


def _hop(
    coils: _Coils, path: _Path, z: FloatArray, now: FloatArray, speed: FloatArray, rebound: FloatArray,
    most_s: FloatArray,
) -> tuple[FloatArray, FloatArray, FloatArray]:  # fmt: skip
    """Hop as often as HOPS says, each a parabola under the pull on the pole; z and time at the end, first length."""
    linear = z * coils.per_t2
    pull = coils.quick * (linear**2 * np.exp(coils.steep) / coils.start**2 - 1 - coils.stiffens)
    pull, share, first = np.maximum(pull, 1e-6 * coils.quick), np.exp(np.minimum(rebound, -0.05)), None
    for steps in HOPS:
        speed = speed * share
        length = np.minimum(2 * speed / pull, most_s)
        first = length if first is None else first

        def moves(t: FloatArray, v: FloatArray = speed) -> tuple[FloatArray, FloatArray]:
            return np.clip(1 - v * t + pull * t * t / 2, 0, 1), pull * t - v

        z = _walk(coils, path, z, now, length, steps, moves)
        now = now + length
    return z, now, np.zeros(z.size) if first is None else first


def _refined(coils: _Coils, path: _Path) -> tuple[FloatArray, FloatArray]:
    """Return times and currents at BETWEEN points a step, each shape (n, b)."""
    times, z, way, speed = (np.array(rows) for rows in (path.times, path.z, path.way, path.speed))
    rate = 1 - coils.share(z, z / coils.constant_s(np.clip(way, 0, 1)))
    length = np.diff(times, axis=0)
    u = (np.arange(BETWEEN) / BETWEEN)[None, :, None]

    def cubic(x: FloatArray, slope: FloatArray) -> FloatArray:
        rise, fall = (slope[:-1] * length)[:, None], (slope[1:] * length)[:, None]
        ends = x[:-1, None] * (1 + 2 * u) * (1 - u) ** 2 + x[1:, None] * u * u * (3 - 2 * u)
        return np.asarray(ends + rise * u * (1 - u) ** 2 + fall * u * u * (u - 1))

    size = length.shape[0] * BETWEEN, z.shape[1]
    fine_z, fine_way = cubic(z, rate).reshape(size), np.clip(cubic(way, speed).reshape(size), 0, 1)
    fine_t = (times[:-1, None] + u * length[:, None]).reshape(size)
    return fine_t, np.asarray(coils.share(fine_z, fine_z / coils.constant_s(fine_way)))
