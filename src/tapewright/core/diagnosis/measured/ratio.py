"""A speed that is off by an exact ratio: mains for mains, gears for gears."""

from tapewright.core.diagnosis.evidence import Answer, no, yes
from tapewright.core.diagnosis.measured.fields import Figure

#: Ratios one meets: mains 50 and 60 Hz exchanged, gears for another speed.
RATIOS = {"6/5": 6 / 5, "5/6": 5 / 6, "50/45.45": 50 / 45.45, "45.45/50": 45.45 / 50, "3/2": 1.5, "2/3": 2 / 3,
          "75/45.45": 75 / 45.45, "45.45/75": 45.45 / 75, "2": 2.0, "1/2": 0.5}  # fmt: skip
RATIO_TOLERANCE_PERCENT, RATIO_FROM_PERCENT = 0.8, 4.0


def ratio_of(finding: str, error: Figure) -> Answer:
    """Say whether a speed error, per cent, is an exact ratio within its doubt."""
    ratio = 1.0 + error.value / 100.0
    near = {name: abs(ratio / r - 1.0) * 100.0 for name, r in RATIOS.items()}
    name = min(near, key=lambda each: near[each])
    tolerance = max(RATIO_TOLERANCE_PERCENT, 2.0 * (error.u or 0.0))
    how = f"speed error {error}"
    if abs(error.value) >= RATIO_FROM_PERCENT and near[name] <= tolerance:
        return yes(finding, f"{how}, which is {name}")
    return no(finding, how)
