"""Each station of the chain: proved, suspect, outside or not yet shown, and by which evidence."""

from collections.abc import Mapping
from dataclasses import dataclass

from tapewright.advisor.evidence import Answer
from tapewright.advisor.machine_model import Model

#: A station is suspect from this belief on; it can only be called proved below this one.
SUSPECT_FROM, PROVED_BELOW = 0.2, 0.05


@dataclass(frozen=True, slots=True)
class StationState:
    """One station with its state, its reasons and the belief that a fault sits there."""

    station: str
    title: str
    state: str
    probability: float
    because: tuple[str, ...]


def judge_stations(
    model: Model, belief: Mapping[str, float], causes: Mapping[str, float], settled: Mapping[str, Answer]
) -> list[StationState]:
    """Judge every station of the model that can have a fault.

    Args:
        model: the machine.
        belief: probability of a fault at each station.
        causes: probability of each cause.
        settled: one answer a finding.
    """
    used = {cause.station for cause in model.causes.values()}
    return [_judge(model, station, belief[station], causes, settled) for station in model.stations if station in used]


def _judge(
    model: Model, station: str, p: float, causes: Mapping[str, float], settled: Mapping[str, Answer]
) -> StationState:
    outside = [_because(model, a) for a in settled.values()
               if a.state == "present" and model.findings[a.finding].condition_of == station]  # fmt: skip
    proofs = [_because(model, a, there=False) for a in settled.values()
              if a.state == "absent" and _proves(model, station, a.finding)]  # fmt: skip
    leading = sorted((c for c in model.causes.values() if c.station == station), key=lambda c: -causes[c.name])
    suspects = tuple(f"{c.says} ({percent(causes[c.name])})" for c in leading[:3] if causes[c.name] >= 0.05)
    title = model.stations[station]
    if outside and p >= SUSPECT_FROM:
        return StationState(station, title, "outside", p, (*outside, *suspects))
    if p >= SUSPECT_FROM:
        return StationState(station, title, "suspect", p, suspects or (f"belief in a fault here is {percent(p)}",))
    in_doubt = any(a.state.startswith("rather") and model.findings[a.finding].condition_of == station
                   for a in settled.values())  # fmt: skip
    if proofs and p < PROVED_BELOW and not in_doubt:
        return StationState(station, title, "proved", p, tuple(proofs))
    why = "nothing was examined that would prove it" if not proofs else f"{proofs[0]}, but {percent(p)} is left"
    return StationState(station, title, "not yet shown", p, (*outside, why) if outside else (why,))


def _proves(model: Model, station: str, finding: str) -> bool:
    return station in model.findings[finding].clears or model.findings[finding].condition_of == station


def _because(model: Model, answer: Answer, *, there: bool = True) -> str:
    says = model.findings[answer.finding].says
    place = f" ({answer.at})" if answer.at else ""
    return f"{says}{place}" if there else f"looked for and not found: {says[0].lower()}{says[1:]}"


def percent(p: float) -> str:
    """Write a probability so that nothing is rounded to certainty."""
    return "under 1 %" if p < 0.01 else "over 99 %" if p > 0.99 else f"{100 * p:.0f} %"
