"""How a motor was brought to speed, as JSON and as words."""

from typing import Any

from tapewright.furniture.json_values import judged, measured
from tapewright.furniture.writing import verdict_text
from tapewright.motor.bring_in import BroughtIn
from tapewright.motor.cautions import SUPPLY
from tapewright.motor.guarded_supply import SWITCH_IT_OFF, Ceiling
from tapewright.motor.train_report import fast_or_slow
from tapewright.number import Limit, Source, Standing, Verdict, judge

HEADS = {
    "done": "Done",
    "cannot": "It cannot be done through the supply",
    "stopped": "Stopped",
    "not enough moves": "Not there yet",
}


def supply_document(
    what: str, ceiling: Ceiling, rpm: float, within: float, went: BroughtIn, off: bool | None
) -> dict[str, Any]:
    """Return the document tapewright/supply/1; output_off is null where a person holds the switch."""
    verdict = _verdict(went, within)
    return {
        "format": "tapewright/supply/1",
        "supply": what,
        "ceiling": {"volts": ceiling.volts, "amps": ceiling.amps},
        "wanted_rpm": rpm,
        "steps": [{"volts": s.volts, "error_percent": measured(s.error_percent)} for s in went.steps],
        "moves": went.moves,
        "state": went.state,
        "why": went.why,
        "volts": went.steps[-1].volts if went.steps else None,
        "output_off": off,
        "verdicts": [judged(verdict)] if verdict else [],
        "cautions": list(SUPPLY),
    }


def supply_words(what: str, ceiling: Ceiling, rpm: float, within: float, went: BroughtIn, off: bool | None) -> str:
    """Say the same to a person."""
    lines = [f"{what}, at most {ceiling.volts:g} V and {ceiling.amps:g} A; wanted {rpm:.6g} rpm of the motor"]
    lines += [
        f"  {step.volts:7.2f} V   {fast_or_slow(step.error_percent.value or 0.0, step.error_percent.expanded)}"
        for step in went.steps
    ]
    many = f" after {went.moves} move{'s' * (went.moves != 1)}" if went.state == "done" else ""
    lines += [f"{HEADS[went.state]}{many}: {went.why}."]
    verdict = _verdict(went, within)
    if verdict:
        lines += verdict_text(verdict)
    told = {True: "The output is off.", False: SWITCH_IT_OFF, None: "Switch the supply off when you leave it."}
    return "\n".join([*lines, told[off]])


def _verdict(went: BroughtIn, within: float) -> Verdict | None:
    limit = Limit("speed error", -within, within, "percent", Source("--within", "", Standing.OWNER))
    return judge(went.steps[-1].error_percent, limit) if went.steps else None
