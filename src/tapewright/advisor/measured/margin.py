"""What a margin document (a sweep of the receiver's orientation) shows. Marks: common practice, no source.

Picture (the middle of the scale, and the range on either side of it):

    scale   0 . . . low =====|===== high . . . 120
                       below   above
"""

from collections.abc import Callable, Mapping
from typing import Any

from tapewright.advisor.evidence import Answer, no, yes
from tapewright.advisor.measured.fields import Figure, beyond, figure, number

Document = Mapping[str, Any]
Rule = Callable[[str, Document], Answer | None]

#: A margin below this is narrow, per cent of a unit; nearer to an end than this share of the range is near it; one
#: side of the middle shorter than this share of the other has collapsed.
NARROW_PERCENT, NEAR_SHARE, COLLAPSED_SHARE = 30.0, 0.25, 0.5


def speed_is_proven(document: Document) -> bool:
    """Return whether the sweep was made at proven speed: a wrong speed eats one end of the range and hides there."""
    return document.get("speed_proven") is True


def margin_narrow(finding: str, document: Document) -> Answer | None:
    """The margin is small, or no setting reads right."""
    if document.get("state") == "nowhere":
        return yes(finding, "no setting reads right")
    least = number(document.get("margin_at_least_percent"))
    if least is not None:
        return no(finding, f"margin at least {least:.0f} percent") if least >= NARROW_PERCENT else None
    margin = figure(document, "margin_percent")
    how = f"margin {margin} of a unit, swept"
    return None if margin is None else beyond(finding, margin, NARROW_PERCENT, how, above=False)


def near_one_end(finding: str, document: Document) -> Answer | None:
    """The range is wide, and the pointer was found near one end of it."""
    stands, ends, margin = number(document.get("stands_at")), _ends(document), figure(document, "margin_percent")
    if stands is None or ends is None or margin is None or margin.value < NARROW_PERCENT:
        return None
    low, high = ends
    nearest = min(stands - low.value, high.value - stands)
    width = high.value - low.value
    doubt = max(low.u or 0.0, high.u or 0.0) / width
    how = f"the pointer stood at {stands:g}, the range is {low.value:.0f} to {high.value:.0f}"
    return beyond(finding, Figure(nearest / width, doubt, ""), NEAR_SHARE, how, above=False)


def one_end_collapsed(finding: str, document: Document) -> Answer | None:
    """One side of the middle of the scale is much shorter than the other, and the range is not a wide one moved."""
    ends, margin = _ends(document), figure(document, "margin_percent")
    scale = [number(document["scale"].get(end)) for end in ("low", "high")] if _has_scale(document) else []
    if ends is None or margin is None or None in scale or not scale:
        return None
    low, high = ends
    how = f"the range is {low.value:.0f} to {high.value:.0f}"
    if margin.value >= NARROW_PERCENT:
        return no(finding, how)
    middle = sum(end for end in scale if end is not None) / 2
    sides = sorted((Figure(middle - low.value, low.u, ""), Figure(high.value - middle, high.u, "")),
                   key=lambda side: side.value)  # fmt: skip
    if sides[1].value <= 0:
        return None
    share = max(sides[0].value, 0.0) / sides[1].value
    doubt = ((sides[0].u or 1.0) ** 2 + (share * (sides[1].u or 1.0)) ** 2) ** 0.5 / sides[1].value
    return beyond(finding, Figure(share, doubt, ""), COLLAPSED_SHARE, f"{how}, the middle {middle:g}", above=False)


def _has_scale(document: Document) -> bool:
    return document.get("by") == "scale" and isinstance(document.get("scale"), Mapping)


def _ends(document: Document) -> tuple[Figure, Figure] | None:
    low, high = figure(document, "orientation_low"), figure(document, "orientation_high")
    return None if low is None or high is None or low.value >= high.value else (low, high)


RULES: dict[str, Rule] = {
    "margin narrow": margin_narrow,
    "pointer near one end": near_one_end,
    "one end collapsed": one_end_collapsed,
}
