"""A soak so far, as JSON (tapewright/soak/1) and in words."""

from typing import Any

from tapewright.core.comparison.rate import characters_to_show
from tapewright.core.line.live.soak import FEWEST_IN_BIN, SoakState

#: a rate worth showing: one wrong in a thousand (owner's choice)
WORTH_SHOWING = 1e-3


def soak_document(state: SoakState) -> dict[str, Any]:
    """Give the document."""
    rate, drift = state.rate, state.drift_percent()
    return {
        "format": "tapewright/soak/1",
        "minutes": state.seconds / 60,
        "characters": state.characters,
        "wrong": state.wrong,
        "changed": state.changed,
        "lost": state.lost,
        "extra": state.extra,
        "rate_upper_95": rate.upper_95,
        "waiting": len(state.waiting),
        "out_of_step": state.out_of_step,
        "broken": state.broken,
        "gaps": state.gaps,
        "restarts": state.restarts,
        "drift_percent": None
        if drift is None
        else {"value": drift[0], "u": drift[1], "unit": "percent", "n": state.characters},
        "ripple_percent": state.ripple_percent or None,
        "speed_log": {
            "bin_s": state.bin_s,
            "unit_ms": [
                {"value": b.mean, "u": b.u, "unit": "ms", "n": b.n} if b.n >= FEWEST_IN_BIN else None
                for b in state.bins
            ],
        },
    }


def soak_text(state: SoakState) -> str:
    """Say it in words."""
    rate = state.rate
    out = [f"{state.seconds / 60:.1f} minutes, {state.characters} characters, {state.wrong} wrong:"
           f" {state.changed} changed, {state.lost} lost, {state.extra} extra."]  # fmt: skip
    if state.characters:
        out.append(f"The rate of errors is below {100 * rate.upper_95:.3g} % at 95 % confidence (Clopper and Pearson).")
    if not state.wrong:
        left = characters_to_show(WORTH_SHOWING) - state.characters
        if left > 0:
            out.append(f"{left} more without an error would show that it is below one in a thousand.")
    drift = state.drift_percent()
    if drift is None:
        out.append("Drift is not shown yet: it needs a few minutes.")
    else:
        out.append(f"The speed went by {drift[0]:+z.3f} ± {2 * drift[1]:.3f} % from the first to the last part.")
    if state.ripple_percent:
        out.append(f"Largest ripple seen: {state.ripple_percent:.2f} %.")
    for count, what in (
        (state.broken, "characters came without a stop"),
        (state.out_of_step, "times the place in the text was lost; those stretches are not counted"),
        (state.gaps, "times the line was not seen"),
        (state.restarts, "restarts; what passed in between is not counted"),
    ):
        if count:
            out.append(f"{count} {what}.")
    return "\n".join(out)
