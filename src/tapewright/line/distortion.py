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
from tapewright.number import Reading, missing
from tapewright.recordings.capture import FloatArray, Suspicion


def state_distortion(instants: Instants, groups: Groups, split: Decomposition, speed: LineSpeed) -> Distortion:
    """Put the degrees and the parts together."""
    T = split.unit_s
    use = ~instants.chatter
    n = int(np.count_nonzero(use))
    relative = (speed.unit_ms.u or 0.0) / (1e3 * T)
    degrees = _degrees(instants, T, relative, n)
    gross = (
        _degrees(instants, 1 / speed.nominal_baud, 0.0, n)["degree"]
        if speed.nominal_baud
        else missing("percent", "the nominal speed is not known")
    )
    openings = bool(np.any(~split.to_mark))
    closings = bool(np.any(split.to_mark))

    def share(value_s: float, u_s: float, count: int) -> Reading:
        return Reading(100 * value_s / T, 100 * u_s / T, "percent", count)

    return Distortion(
        gross_percent=gross,
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
        scatter_percent=share(*_scatter(instants, groups), n)
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


def _degrees(instants: Instants, unit_s: float, relative_u: float, n: int) -> dict[str, Reading]:
    use = ~instants.chatter
    d = 100 * instants.deviation_units(unit_s)[use]
    u = 100 * np.hypot(instants.u_s[use] / unit_s, instants.boundary[use] * relative_u)
    if not d.size:
        return dict.fromkeys(("degree", "early", "late"), missing("percent", "there are no instants"))
    first, last, most = int(np.argmin(d)), int(np.argmax(d)), int(np.argmax(np.abs(d)))
    return {
        "degree": Reading(float(abs(d[most])), float(u[most]), "percent", n),
        "early": Reading(min(float(d[first]), 0.0), float(u[first]), "percent", n),
        "late": Reading(max(float(d[last]), 0.0), float(u[last]), "percent", n),
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
    r"""Return the standard deviation of a single instant, without the instrument's own share, and its u, both in s.

    The instants of a character share the scatter s of its start, so they tell less than as many alone would. For
    normal scatter the sum of their squares q has  var q = 2 tr C^2 = 2 (n v^2 + n (n - 1) s^4),  v the variance of
    one instant and n their number in the character (moments of a quadratic form of normal variables).
    """
    kept = np.isfinite(groups.residual_s)
    free = max(int(np.count_nonzero(kept)) - groups.n.size, 1)
    all_of_it, start = groups.scatter_s**2, groups.start_scatter_s**2
    n = np.bincount(instants.frame[kept]).astype(float)
    doubt = np.sqrt(2 * float((n * all_of_it**2 + n * (n - 1) * start**2).sum())) / free
    variance = max(all_of_it - float(np.mean(instants.u_s[kept] ** 2)), 0.0)
    # u of a root; near nothing its slope would say too much
    return float(np.sqrt(variance)), float(doubt / (2 * np.sqrt(max(variance, doubt / 2, 1e-30))))


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
