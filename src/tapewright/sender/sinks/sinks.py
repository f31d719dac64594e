"""The sinks there are. To add one: a file beside this one, a line in SINKS, or an entry point elsewhere."""

from dataclasses import replace
from typing import Protocol, cast

from tapewright.errors import InputError, WrongUseError
from tapewright.furniture.plug_ins import SINKS as OUTSIDE
from tapewright.furniture.plug_ins import from_outside
from tapewright.sender.send import Sink, SinkOnOffer
from tapewright.sender.sinks import practice_sink, serial_sink, sound_sink, wav_sink
from tapewright.sender.sinks.asked import Asked


class SinkKind(Protocol):
    """What a module that serves one kind of sink offers."""

    #: how to ask for it, what it is, a whole `--to`
    KIND: str
    WHAT: str
    EXAMPLE: str

    def unavailable(self) -> str:
        """Say why it cannot be used here, with the remedy; empty when it can."""

    def found(self) -> tuple[str, ...]:
        """Name the places where one was found."""

    def open_sink(self, asked: Asked) -> Sink:
        """Open one."""


SINKS: dict[str, SinkKind] = {m.KIND: m for m in (practice_sink, wav_sink, sound_sink, serial_sink)}

NEEDED = ("KIND", "WHAT", "EXAMPLE", "unavailable", "found", "open_sink")


def sink_kinds() -> dict[str, SinkKind]:
    """Return every kind of sink by its word, those of other packages last."""
    outside = [cast("SinkKind", module) for module in from_outside(OUTSIDE, NEEDED).values()]
    return SINKS | {module.KIND: module for module in outside if module.KIND not in SINKS}


def on_offer() -> tuple[SinkOnOffer, ...]:
    """Say which sinks there are, and why those that cannot be used cannot."""
    out = []
    for kind, module in sink_kinds().items():
        reason = module.unavailable()
        out.append(SinkOnOffer(kind, module.WHAT, module.EXAMPLE, () if reason else module.found(), reason))
    return tuple(out)


def open_sink(spec: str, asked: Asked) -> Sink:
    """Open the sink that `--to` names: KIND, KIND:WHERE, or the name of a .wav file.

    Raises:
        InputError: when it cannot be used here.
        WrongUseError: when there is no such kind.
    """
    kind, _, where = spec.partition(":")
    if spec.lower().endswith(".wav") and kind not in SINKS:
        kind, where = wav_sink.KIND, spec
    kinds = SINKS if kind in SINKS else sink_kinds()
    if kind not in kinds:
        known = f"{', '.join(kinds)}, or a name that ends in .wav"
        raise WrongUseError(f"--to {spec}: there is no such sink. Sinks: {known}.")
    reason = kinds[kind].unavailable()
    if reason:
        raise InputError(f"--to {spec}", expected=kinds[kind].WHAT, found="none that can be used", do=f"{reason}.")
    return kinds[kind].open_sink(replace(asked, where=where))
