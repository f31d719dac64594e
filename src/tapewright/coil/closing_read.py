"""What one closing of the switch says."""

from dataclasses import dataclass

from tapewright.number import Reading, missing


@dataclass(frozen=True, slots=True)
class ClosingRead:
    """What one closing says.

    Attributes:
        on_s: when the switch closed, from the begin of the recording.
        moved: True, False, or None when it cannot be told.
        why: the reason in a sentence.
        level_a: current at the end.
        tau_open_s: L / R before the armature moved (all the time when it did not).
        tau_closed_s: L / R with the armature landed.
        landing: from the closing to the landing, ms.
        travel: time the motion took, ms.
        bounce: length of the hop after the landing, ms.
        extra_kinks_s: further jumps of the slope, from the closing: double landing, second bounce.
        jumps_s: all upward jumps of the slope, that of the landing with them.
    """

    on_s: float
    moved: bool | None
    why: str
    level_a: Reading
    tau_open_s: Reading
    tau_closed_s: Reading
    landing: Reading
    travel: Reading
    bounce: Reading
    extra_kinks_s: tuple[float, ...] = ()
    jumps_s: tuple[float, ...] = ()


def unknown(on_s: float, why: str, level: Reading | None = None) -> ClosingRead:
    """Return a read that cannot tell, with the reason."""
    none = missing("ms", why)
    tau = missing("s", why)
    return ClosingRead(on_s, None, why, level or missing("A", why), tau, tau, none, none, none)
