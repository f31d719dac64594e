"""A soak so far, as JSON (tapewright/soak/1) and in words."""

from itertools import pairwise
from typing import Any

from tapewright.line.live.soak import BLOCK, SoakState
from tapewright.line.live.soak_sides import FEWEST_IN_BIN, Between, Side, between
from tapewright.message.rate import characters_to_show

#: a rate worth showing: one wrong in a thousand (owner's choice)
WORTH_SHOWING = 1e-3


def soak_document(state: SoakState) -> dict[str, Any]:
    """Return the document."""
    rate, drift = state.rate, state.drift_percent()
    return {
        "format": "tapewright/soak/1",
        "minutes": (state.seconds - state.begun_s) / 60,
        "minutes_in_all": state.seconds / 60,
        "adjusted": state.label,
        "characters": state.characters,
        "wrong": state.wrong,
        "changed": state.changed,
        "lost": state.lost,
        "extra": state.extra,
        "rate_upper_95": rate.upper_95,
        "waiting": len(state.waiting),
        "out_of_step": state.out_of_step,
        **_steps_and_blocks(state.side()),
        "broken": state.broken,
        "gaps": state.gaps,
        "restarts": state.restarts,
        "drift_percent": None
        if drift is None
        else {"value": drift[0], "u": drift[1], "unit": "percent", "n": state.characters},
        "ripple_percent": state.ripple_percent or None,
        "sides": [_side(side) for side in (*state.earlier, state.side())],
        "between": [_between(*pair) for pair in _pairs(state)],
        "speed_log": {
            "bin_s": state.bin_s,
            "unit_ms": [
                {"value": b.mean, "u": b.u, "unit": "ms", "n": b.n} if b.n >= FEWEST_IN_BIN else None
                for b in state.bins
            ],
        },
    }


def _pairs(state: SoakState) -> list[tuple[Side, Side]]:
    sides = [*state.earlier, state.side()]
    return list(pairwise(sides))


def _side(side: Side) -> dict[str, Any]:
    return {
        "adjusted": side.label,
        "minutes": side.seconds / 60,
        "characters": side.characters,
        "wrong": side.wrong,
        "changed": side.changed,
        "lost": side.lost,
        "extra": side.extra,
        "rate_upper_95": side.rate.upper_95,
        "out_of_step": side.out_of_step,
        **_steps_and_blocks(side),
        "unit_ms": None
        if side.unit_ms <= 0
        else {"value": side.unit_ms, "u": side.unit_u_ms, "unit": "ms", "n": side.characters},
        "drift_percent": None
        if side.drift_percent is None
        else {"value": side.drift_percent, "u": side.drift_u_percent, "unit": "percent", "n": side.characters},
        "ripple_percent": side.ripple_percent or None,
    }


def _steps_and_blocks(side: Side) -> dict[str, Any]:
    return {
        "stray": side.stray,
        "longest_stray": side.longest_stray,
        "in_bursts": side.in_bursts,
        "block_characters": BLOCK,
        "blocks": side.blocks,
        "errored_blocks": side.errored_blocks,
        "block_rate_upper_95": side.block_rate.upper_95,
    }


def _between(before: Side, after: Side) -> dict[str, Any]:
    found = between(before, after)
    return {
        "adjusted": after.label,
        "faster_percent": None
        if found.faster_percent is None
        else {"value": found.faster_percent, "u": found.u_percent, "unit": "percent", "n": after.characters},
        "rates_differ": found.rates_differ,
        "p": found.p,
    }


def _what_it_did(before: Side, after: Side) -> str:
    """Say what an adjustment is shown to have done."""
    found = between(before, after)
    return f"{after.label}: {_errors(found, before, after)}; {_speed(found)}."


def _errors(found: Between, before: Side, after: Side) -> str:
    counts = f"{before.wrong} of {before.characters} wrong before, {after.wrong} of {after.characters} after"
    if found.p is None:
        return f"{counts}, too little to compare"
    way = "fewer" if after.wrong * before.characters < before.wrong * after.characters else "more"
    return f"{counts}: {way} is shown" if found.rates_differ else f"{counts}: no difference is shown"


def _speed(found: Between) -> str:
    if found.faster_percent is None or found.u_percent is None:
        return "the speed of one side is not known"
    return f"the speed went by {found.faster_percent:+z.3f} ± {2 * found.u_percent:.3f} %"


def _earlier(side: Side) -> str:
    """Say a side that is closed in a line."""
    what = f"after {side.label}" if side.label else "as it was"
    below = f", rate below {100 * side.rate.upper_95:.3g} %" if side.characters else ""
    told = [f"{what}: {side.seconds / 60:.1f} min, {side.characters} characters, {side.wrong} wrong{below}"]
    if side.drift_percent is not None and side.drift_u_percent is not None:
        told.append(f"drift {side.drift_percent:+z.3f} ± {2 * side.drift_u_percent:.3f} %")
    if side.ripple_percent:
        told.append(f"ripple {side.ripple_percent:.2f} %")
    return "  " + ", ".join(told)


def soak_text(state: SoakState) -> str:
    """Say it in words."""
    rate = state.rate
    since = f"Since the last adjustment ({state.label}): " if state.label else ""
    minutes = (state.seconds - state.begun_s) / 60
    out, side = [], state.side()
    if state.out_of_step:
        times = "once" if state.out_of_step == 1 else f"{state.out_of_step} times"
        out.append(
            f"OUT OF STEP {times}: {state.stray} characters wrong by that, {state.longest_stray} in the longest "
            "stretch. All of them count."
        )
    out.append(
        f"{since}{minutes:.1f} minutes, {state.characters} characters, {state.wrong} wrong: {state.changed} changed, "
        f"{state.lost} lost, {state.extra} extra, {state.stray} out of step."
    )
    if state.characters and not side.in_bursts:
        bound = f"The rate of errors is below {100 * rate.upper_95:.3g} % at 95 % confidence"
        out.append(f"{bound}, if they come one by one (Clopper and Pearson).")
    elif state.characters:
        out.append(
            f"The errors come in bursts: the bound for errors one by one ({100 * rate.upper_95:.3g} %) may not be "
            f"claimed. Here {100 * state.wrong / state.characters:.3g} % were wrong; "
            "how often a burst comes, the blocks tell."
        )
    if side.blocks:
        out.append(
            f"{side.errored_blocks} of {side.blocks} blocks of {BLOCK} characters held an error; the share of such "
            f"blocks is below {100 * side.block_rate.upper_95:.3g} % at 95 % confidence, bursts or not."
        )
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
        (state.gaps, "times the line was not seen"),
        (state.restarts, "restarts; what passed in between is not counted"),
    ):
        if count:
            out.append(f"{count} {what}.")
    if state.earlier:
        out += ["Before:", *(_earlier(side) for side in state.earlier)]
        out += ["What each adjustment did:", *(f"  {_what_it_did(*pair)}" for pair in _pairs(state))]
    return "\n".join(out)
