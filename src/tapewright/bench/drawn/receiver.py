r"""Where a receiver may look: one bar an element, about the middle of the element.

Picture (the best place to look is the middle of what all bars have in common):

    1      [==========|=========]
    2        [========|===========]
    all      [========|=========]          -40 .. 0 .. 40 % of a unit
"""

from collections.abc import Mapping
from typing import Any

from tapewright.bench.drawn.axis import Axis

REACH = 50.0


def receiver_bars(receiver: Mapping[str, Any] | None) -> dict[str, Any] | None:
    """Return the bars; None where the nominal speed is not known."""
    if receiver is None:
        return None
    axis = Axis(-REACH, REACH)
    rows = [{"called": f"element {each['element']}", **each} for each in receiver["per_element"]]
    overall = {key: receiver[key] for key in ("orientation_low", "orientation_high", "margin_percent")}
    rows.append({"called": "all", **overall})
    for row in rows:
        left, right = axis.place(row["orientation_low"]), axis.place(row["orientation_high"])
        row |= {"left": left, "width": max(0.0, round(right - left, 3))}
    return {"ticks": axis.ticks(), "zero": axis.place(0), "rows": rows, "window": receiver["window"]}


def histogram_bars(counts: Mapping[str, Any] | None) -> dict[str, Any] | None:
    """Return the instants by their distortion as bars; None where there are none."""
    if counts is None or not counts["counts"]:
        return None
    low, step = counts["from_percent"], counts["step_percent"]
    reach = max(abs(low), abs(low + step * len(counts["counts"])), 5) + 1
    axis, most = Axis(-reach, reach), max(counts["counts"])
    bars = [
        {"left": axis.place(low + i * step), "width": round(100 * step / (2 * reach), 3),
         "height": round(100 * count / most, 2), "from": low + i * step, "n": count}
        for i, count in enumerate(counts["counts"]) if count
    ]  # fmt: skip
    return {"ticks": axis.ticks(), "bars": bars, "most": most, "n": sum(counts["counts"])}
