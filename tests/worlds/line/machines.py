"""Named worlds to draw by seed: one machine each, healthy or with one thing wrong (a few with several).

    recording = MACHINES["hunting"](7)                            # exact edge times
    recording = MACHINES["hunting"](7, "hum")                     # the same line, by an oscilloscope with hum
    recording = MACHINES["hunting"](7, "any")                     # the same line, by any instrument
    recording = MACHINES["hunting"](7, Instrument("mine", 48e3))  # or one of one's own

The sizes drawn are wider than what a good machine shows; all of them are common practice, no source.
"""

from collections.abc import Callable

import numpy as np

from worlds.line.motor import BandSwing, Deviation, Sag, SteadySwing, Warming, Wheel
from worlds.line.plan import Plan, World, log_uniform

Change = Callable[[Plan], None]


def as_it_is(plan: Plan) -> None:
    """Leave the machine in good order."""


def one_contact_off(plan: Plan) -> None:
    """One contact closes or opens early or late by 0.5 to 3 ms, or both."""
    closing_ms, opening_ms = np.zeros(6), np.zeros(5)
    by_ms = log_uniform(plan.rng, 0.5, min(3.0, 0.15 * plan.machine.unit_ms)) * plan.rng.choice([-1, 1])
    which, how = int(plan.rng.integers(6)), plan.rng.random()
    if how < 0.6 or which == 5:
        closing_ms[which] = by_ms
    if how > 0.3 and which < 5:
        opening_ms[which] = by_ms if how < 0.6 else -by_ms
    plan.shift_contacts(closing_ms, opening_ms)


def all_off(plan: Plan) -> None:
    """Every contact is off by about 0.4 ms."""
    plan.shift_contacts(plan.rng.normal(0, 0.4, 6), plan.rng.normal(0, 0.4, 5))


def sloping(plan: Plan) -> None:
    """The contacts are later and later over the turn: a slope, which only the shaft knows."""
    slope_ms = float(plan.rng.uniform(-0.15, 0.15))
    plan.shift_contacts(slope_ms * np.arange(1, 7), slope_ms * np.arange(2, 7))


def biased(plan: Plan) -> None:
    """The loop lengthens or shortens all marks by up to a tenth of a unit."""
    bias_ms = plan.machine.unit_ms * float(plan.rng.uniform(-0.1, 0.1))
    plan.change(closing_delay_ms=1.0 + max(0.0, -bias_ms), opening_delay_ms=1.0 + max(0.0, bias_ms))


def end_distorted(plan: Plan) -> None:
    """Marks end late or early by up to a tenth of a unit, all but the stop, whose end is the start instant."""
    plan.shift_contacts(np.zeros(6), np.full(5, plan.machine.unit_ms * float(plan.rng.uniform(-0.1, 0.1))))


def start_late(plan: Plan) -> None:
    """The stop contact opens late or early, up to 1.5 ms."""
    plan.change(start_late_ms=float(plan.rng.uniform(-1.5, 1.5)))


def keyed(plan: Plan) -> None:
    """Keyed by hand; the clutch adds jitter to the start."""
    plan.keyed = True
    plan.change(start_jitter_ms=log_uniform(plan.rng, 0.05, 0.5))


def warming(plan: Plan) -> None:
    """The speed changes by 0.2 to 1 % in the recording, exponentially."""
    gain = log_uniform(plan.rng, 0.002, 0.01) * float(plan.rng.choice([1, 1, -1]))
    part = float(plan.rng.uniform(0.2, 1.5))
    plan.add_motor(lambda duration_s: [Warming(gain / (1 - np.exp(-1 / part)), part * duration_s)])


def hunting(plan: Plan) -> None:
    """The governor hunts: rms 0.2 to 3 %, at 0.3 to 4 Hz, 0.01 to 0.5 Hz wide."""
    plan.characters = max(plan.characters, 60)
    rms, frequency_hz = log_uniform(plan.rng, 0.002, 0.03), log_uniform(plan.rng, 0.3, 4)
    width_hz = min(log_uniform(plan.rng, 0.01, 0.5), 0.6 * frequency_hz)
    plan.add_motor(lambda duration_s: [BandSwing.draw(plan.rng, frequency_hz, width_hz, rms, duration_s)])


def two_swings(plan: Plan) -> None:
    """Two bands at once."""
    hunting(plan)
    hunting(plan)


def steady_swing(plan: Plan, least: float = 0.002, most: float = 0.03) -> None:
    """A swing of one frequency and amplitude."""
    plan.characters = max(plan.characters, 40)
    swing = SteadySwing(
        log_uniform(plan.rng, 0.3, 4), log_uniform(plan.rng, least, most), float(plan.rng.uniform(0, 2 * np.pi))
    )
    plan.add_motor(lambda _: [swing])


def big_swing(plan: Plan) -> None:
    """A swing of 3 to 8 %, as of a governor whose spring is broken."""
    steady_swing(plan, 0.03, 0.08)


def sagging(plan: Plan) -> None:
    """A load slows the motor by 3 to 15 % for one to six seconds, once to three times."""
    plan.characters = max(plan.characters, 150)
    rng = plan.rng

    def sags(duration_s: float) -> list[Deviation]:
        middles_s = (
            duration_s * (np.arange(3) + rng.uniform(0.2, 0.6, 3)) / 4
        )  # while characters are sent, apart from each other
        lengths_s = rng.uniform(1.0, min(6.0, 0.14 * duration_s), 3)
        depths = [log_uniform(rng, 0.03, 0.15) for _ in range(3)]
        sags: list[Deviation] = [
            Sag(float(t), float(w), depth) for t, w, depth in zip(middles_s, lengths_s, depths, strict=True)
        ]
        return sags[: int(rng.integers(1, 4))]

    plan.add_motor(sags)


def add_wheel(plan: Plan, turns_per_character: float, harmonic: int, turns_with: str) -> None:
    """Let one wheel run out by 0.1 to 0.6 ms."""
    wheel = Wheel(
        turns_per_character,
        harmonic,
        log_uniform(plan.rng, 0.1, 0.6),
        float(plan.rng.uniform(0, 2 * np.pi)),
        turns_with,
    )
    plan.change(wheels=[*plan.machine.wheels, wheel])


def cam_runs_out(plan: Plan) -> None:
    """The cam shaft runs out: once a turn, in half of the draws twice as well; the same in every character."""
    add_wheel(plan, 1.0, 1, "cams")
    if plan.rng.random() < 0.5:
        add_wheel(plan, 1.0, 2, "cams")


def motor_wheel_runs_out(plan: Plan) -> None:
    """A wheel behind the clutch runs out: half a turn to five turns a character, anywhere when one begins."""
    add_wheel(plan, float(plan.rng.choice([0.5, 2 / 3, 1.5, 2.2, 3.4, 5.0])), 1, "motor")


def jitters(plan: Plan) -> None:
    """The start instant scatters by 0.3 to 1.2 ms."""
    plan.change(start_jitter_ms=log_uniform(plan.rng, 0.3, 1.2))


def slips(plan: Plan) -> None:
    """The clutch slips: each character loses 0.2 to 1 ms in the mean, exponentially distributed, after its start."""
    keyed(plan)
    plan.change(slip_ms=log_uniform(plan.rng, 0.2, 1.0), slip_tau_ms=float(plan.rng.uniform(2, 8)))


def bounces(plan: Plan) -> None:
    """Contacts bounce up to four times within 0.3 to 2.5 ms after closing."""
    plan.change(bounce_ms=log_uniform(plan.rng, 0.3, 2.5), bounce_edges=int(plan.rng.integers(1, 5)))


def drops_out(plan: Plan) -> None:
    """Marks lose their current for 0.1 to 1.5 ms, in one character of fifty or in up to half of them."""
    plan.change(dropouts_per_character=log_uniform(plan.rng, 0.02, 0.5))


def splits(plan: Plan) -> None:
    """Nothing holds the line between two marks, and contacts open before the next closes."""
    plan.change(splits_marks=True)
    plan.shift_contacts(np.zeros(6), plan.rng.uniform(-1.5, 0.3, 5))


def scatters(plan: Plan) -> None:
    """Worn cams and levers: every instant scatters by 0.2 to 0.8 ms."""
    plan.change(scatter_ms=log_uniform(plan.rng, 0.2, 0.8))


def few(plan: Plan) -> None:
    """Two to eight characters."""
    plan.characters = int(plan.rng.integers(2, 9))


def long(plan: Plan) -> None:
    """Three hundred to six hundred characters."""
    plan.characters = int(plan.rng.integers(300, 601))


def begins_inside(plan: Plan) -> None:
    """The recording begins inside the first character, with no rest before."""
    plan.begins_inside = True


def several(*changes: Change) -> Change:
    """Return a change that makes several."""

    def change(plan: Plan) -> None:
        for one in changes:
            one(plan)

    return change


WORLDS: dict[str, tuple[Change, ...]] = {
    "healthy": (as_it_is,),
    "healthy, keyed by hand": (keyed,),
    "one contact off": (one_contact_off,),
    "one contact off, keyed by hand": (keyed, one_contact_off),
    "all contacts off by 0.4 ms": (all_off,),
    "contacts later and later": (sloping,),
    "biased": (biased,),
    "end distorted": (end_distorted,),
    "start contact off": (start_late,),
    "warming": (warming,),
    "warming, keyed by hand": (keyed, warming),
    "warming, contacts off": (warming, all_off),
    "hunting": (hunting,),
    "hunting, keyed by hand": (keyed, hunting),
    "hunting, contacts off": (hunting, all_off),
    "hunting and warming": (hunting, warming),
    "two swings": (two_swings,),
    "steady swing": (steady_swing,),
    "swing to eight per cent": (big_swing,),
    "sagging": (sagging,),
    "sagging, keyed by hand": (keyed, sagging),
    "cam shaft runs out": (cam_runs_out,),
    "motor wheel runs out": (motor_wheel_runs_out,),
    "start jitters": (jitters,),
    "clutch slips, keyed by hand": (slips,),
    "bouncing": (bounces,),
    "dropping out": (drops_out,),
    "split marks": (splits,),
    "scattering": (scatters,),
    "few characters": (few,),
    "few characters, contacts off": (few, all_off),
    "long": (long,),
    "begins inside a character": (begins_inside,),
    "tired machine": (keyed, warming, hunting, all_off, biased, bounces),
}
MACHINES = {kind: World(kind, several(*changes)) for kind, changes in WORLDS.items()}
