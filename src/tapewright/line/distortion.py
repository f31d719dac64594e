"""Degrees of distortion and their parts, in per cent of a unit (FED-STD-1037C: late positive, early negative).

Gross uses the nominal unit, so a speed error is in it; synchronous uses the measured one. Each degree is the
largest individual distortion, always with n.

Is the element order turned round somewhere between machine and reader? The text tells, if it is text.

R, Y and six other codes read the same both ways, so a run of RY never shows it; running text does.
"""

from collections.abc import Sequence

import numpy as np

from tapewright.alphabets import Alphabet, decode
from tapewright.alphabets.alphabet import reversed_order
from tapewright.alphabets.plausible import DISCOUNT, SURE_NATS, cost, looks_like_text
from tapewright.line.decomposition import Decomposition
from tapewright.line.document import Distortion, Histogram, LineSpeed
from tapewright.line.groups import Groups
from tapewright.line.instants import Instants
from tapewright.line.tail import EARLY, LATE, Tail
from tapewright.number import Reading, missing
from tapewright.recordings.capture import FloatArray, Suspicion

NOT_STEADY = "the speed swings or sags so far that the scatter cannot be told from it"


def state_distortion(
    instants: Instants, groups: Groups, split: Decomposition, speed: LineSpeed, tail: Tail, *, steady: bool
) -> Distortion:
    """Put the degrees and the parts together; `steady`: the framing did not have to follow the speed."""
    T = split.unit_s
    use = ~instants.chatter
    n = int(np.count_nonzero(use))
    relative = (speed.unit_ms.u or 0.0) / (1e3 * T)
    degrees = _degrees(instants, T, relative, tail)
    nominal_s = 1 / speed.nominal_baud if speed.nominal_baud else None
    unknown = missing("percent", "the nominal speed is not known")
    gross = _degrees(instants, nominal_s, 0.0, tail)["degree"] if nominal_s else unknown
    openings = bool(np.any(~split.to_mark))
    closings = bool(np.any(split.to_mark))

    def share(value_s: float, u_s: float, count: int) -> Reading:
        return Reading(100 * value_s / T, 100 * u_s / T, "percent", count)

    return Distortion(
        gross_percent=gross,
        gross_once_in_1e4_percent=tail.exceeded(1e-4, nominal_s) if nominal_s else unknown,
        gross_once_in_1e5_percent=tail.exceeded(1e-5, nominal_s) if nominal_s else unknown,
        synchronous_percent=degrees["degree"],
        early_percent=degrees["early"],
        late_percent=degrees["late"],
        n=n,
        odd=int(np.count_nonzero(groups.odd & use)),
        marking_bias_percent=share(-split.closings_s, split.closings_u_s, int(split.n[split.to_mark].sum()))
        if closings
        else missing("percent", "no contact is seen to close"),
        end_percent=share(split.openings_s, split.openings_u_s, int(split.n[~split.to_mark].sum()))
        if openings
        else missing("percent", "no contact is seen to open"),
        start_reference_percent=_start_reference(split, n)
        if openings and closings
        else missing("percent", "needs both closings and openings"),
        scatter_percent=missing("percent", NOT_STEADY)
        if not steady
        else share(*_scatter(instants, groups), n)
        if n > groups.n.size
        else missing("percent", "no instant occurs twice"),
        histogram=_histogram(100 * instants.deviation_units(T)[use]),
    )


def _histogram(d: FloatArray) -> Histogram | None:
    """Count instants by their individual distortion, per cent."""
    if not d.size:
        return None
    low, high = int(np.floor(d.min())), int(np.floor(d.max())) + 1
    counts, _ = np.histogram(d, bins=np.arange(low, high + 1))
    return Histogram(from_percent=low, counts=tuple(counts.tolist()))


def _degrees(instants: Instants, unit_s: float, relative_u: float, tail: Tail) -> dict[str, Reading]:
    """Return the largest distortions; their doubt is that of the instant, and that another recording has another."""
    use = ~instants.chatter
    n = int(np.count_nonzero(use))
    d = 100 * instants.deviation_units(unit_s)[use]
    u = 100 * np.hypot(instants.u_s[use] / unit_s, instants.boundary[use] * relative_u)
    if not d.size:
        return dict.fromkeys(("degree", "early", "late"), missing("percent", "there are no instants"))

    def largest(value: float, at: int, *sides: int) -> Reading:
        return Reading(value, float(np.hypot(u[at], 100 * tail.of_largest(unit_s, sides))), "percent", n)

    first, last, most = int(np.argmin(d)), int(np.argmax(d)), int(np.argmax(np.abs(d)))
    return {
        "degree": largest(float(abs(d[most])), most, EARLY, LATE),
        "early": largest(min(float(d[first]), 0.0), first, EARLY),
        "late": largest(max(float(d[last]), 0.0), last, LATE),
    }


def _start_reference(split: Decomposition, n: int) -> Reading:
    """Return the displacement common to closings and openings, where they agree."""
    difference = split.closings_s - split.openings_s
    if abs(difference) > 2 * split.between_u_s:
        return missing("percent", "closings and openings are displaced differently: that is bias or end distortion")
    a, b = split.closings_u_s**2, split.openings_u_s**2
    value = (split.closings_s * b + split.openings_s * a) / max(a + b, 1e-30)
    u = max(split.closings_u_s, split.openings_u_s)
    return Reading(100 * value / split.unit_s, 100 * u / split.unit_s, "percent", n)


def _scatter(instants: Instants, groups: Groups) -> tuple[float, float]:
    """Return the standard deviation of a single instant, without the instrument's own share, and its u, both in s.

    What the speed does from character to character is no scatter: it is in neither.
    """
    if groups.shared is None:
        return 0.0, 0.0
    cov = groups.shared.variances_cov
    doubt = float(np.sqrt(max(cov[0, 0] + cov[1, 1] + 2 * cov[0, 1], 0.0)))
    kept = np.isfinite(groups.residual_s)
    variance = max(groups.scatter_s**2 - float(np.mean(instants.u_s[kept] ** 2)), 0.0)
    # u of a root; near nothing its slope would say too much
    return float(np.sqrt(variance)), doubt / (2 * float(np.sqrt(max(variance, doubt / 2, 1e-30))))


#: Characters that are enough to tell; and those shown of the text.
ENOUGH, SHOWN_CHARACTERS = 600, 24


def doubt_order(codes: Sequence[str], alphabet: Alphabet) -> tuple[Suspicion, ...]:
    """Say when the codes make plain text with their elements in reverse order, and none as they stand."""
    codes = codes[:ENOUGH]
    other = [reversed_order(code) for code in codes]
    nats = DISCOUNT * (cost(codes, alphabet) - cost(other, alphabet))
    if nats < SURE_NATS or not looks_like_text(other, alphabet, 1.0):
        return ()
    text = " ".join(decode(other, alphabet).split())[:SHOWN_CHARACTERS]
    return (
        Suspicion(
            "reversed element order",
            f"read with element 5 first the codes are plain text ({text} ...), as they stand they are not",
            "Look whether the contacts are wired, or the tape was punched, in the opposite order.",
        ),
    )
