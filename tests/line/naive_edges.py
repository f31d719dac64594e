"""The obvious, slow way to find edges: a witness for the fast one. Shares no code with it."""

import math


def naive_edges(samples, low, middle, high):
    """Walk sample by sample; give (starts_high, [(instant in samples, level after), ...])."""
    state, starts, found, foot = None, None, [], 0
    for i, v in enumerate(samples):
        v = float(v)
        touches = True if v >= high else False if v <= low else None
        if touches is None:
            continue
        if state is None:
            starts = touches
        elif touches != state:
            found.append((_instant(samples, foot, i, middle, touches), touches))
        state, foot = touches, i
    return starts, found


def _instant(samples, foot, entry, middle, rising):
    def beyond(i):
        v = float(samples[i])
        return not math.isnan(v) and (v >= middle if rising else v <= middle)

    first = next(i for i in range(foot + 1, entry + 1) if beyond(i))
    last = max(i for i in range(foot, entry) if not beyond(i))
    return (_between(samples, first - 1, middle) + _between(samples, last, middle)) / 2


def _between(samples, i, middle):
    a, b = float(samples[i]), float(samples[i + 1])
    if math.isnan(a) or math.isnan(b) or a == b:
        return i + 1
    return i + (middle - a) / (b - a)
