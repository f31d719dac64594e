"""The live sources there are. To add one: a file beside this one, a line in SOURCES, or an entry point elsewhere."""

import re
from dataclasses import replace
from importlib import import_module
from pathlib import Path
from typing import Protocol, cast

from tapewright.errors import InputError, WrongUseError
from tapewright.furniture.plug_ins import LIVE_SOURCES, from_outside
from tapewright.recordings.live import control_line, growing_file, oscilloscope, serial_text, sound_card, stamped
from tapewright.recordings.live.asked import Asked
from tapewright.recordings.live.source import LiveSource, SourceOnOffer


class SourceKind(Protocol):
    """What a module that serves one kind of source offers."""

    #: how to ask for it
    KIND: str
    #: what it is, in a few words
    WHAT: str
    #: a whole `--from`
    EXAMPLE: str

    def unavailable(self) -> str:
        """Say why it cannot be used here, with the remedy; empty when it can."""

    def found(self) -> tuple[str, ...]:
        """Name the places where one was found."""

    def open_source(self, asked: Asked) -> LiveSource:
        """Open one."""


SOURCES: dict[str, SourceKind] = {
    module.KIND: module for module in (growing_file, sound_card, stamped, control_line, serial_text, oscilloscope)
}
#: served from a room above this one, loaded when it is asked for: kind -> module
FROM_ABOVE = {"practice": "tapewright.sender.practice_source"}


NEEDED = ("KIND", "WHAT", "EXAMPLE", "unavailable", "found", "open_source")


def source_kinds() -> dict[str, SourceKind]:
    """Return every kind of source by its word, the practice machine first, those of other packages last."""
    outside = [cast("SourceKind", module) for module in from_outside(LIVE_SOURCES, NEEDED).values()]
    above = {kind: cast("SourceKind", import_module(module)) for kind, module in FROM_ABOVE.items()}
    return above | SOURCES | {module.KIND: module for module in outside if module.KIND not in (*above, *SOURCES)}


def on_offer() -> tuple[SourceOnOffer, ...]:
    """Say which sources there are, and why those that cannot be used cannot."""
    out = []
    for kind, module in source_kinds().items():
        reason = module.unavailable()
        out.append(SourceOnOffer(kind, module.WHAT, module.EXAMPLE, () if reason else module.found(), reason))
    return tuple(out)


def open_source(spec: str, asked: Asked) -> LiveSource:
    """Open the source that `--from` names: KIND, KIND:WHERE, a file's name, or - for the pipe.

    Raises:
        InputError: when it cannot be opened.
        WrongUseError: when there is no such kind.
    """
    kind, where = split(spec)
    module = source_kinds()[kind]
    reason = module.unavailable()
    if reason:
        raise InputError(f"--from {spec}", expected=f"{module.WHAT}", found="none that can be used", do=f"{reason}.")
    return module.open_source(replace(asked, where=where))


def file_named(spec: str) -> str:
    """Return the name of the file that a `--from` reads from its beginning; empty for any other source."""
    kind, where = split(spec)
    return Path(where).name if kind == growing_file.KIND and Path(where).is_file() else ""


def split(spec: str) -> tuple[str, str]:
    """Return kind and place of a `--from`.

    Raises:
        WrongUseError: when there is no such kind, nor such a file.
    """
    kind, _, where = spec.partition(":")
    if kind in SOURCES or kind in FROM_ABOVE:
        return kind, where
    # one letter before the colon is a drive, not a kind
    looks_like_kind = re.fullmatch(r"[a-z][a-z0-9]+(:.*)?", spec)
    known = source_kinds() if looks_like_kind else {}
    if kind in known:
        return kind, where
    if growing_file.readable(spec) or not looks_like_kind or "." in spec:
        return growing_file.KIND, spec
    raise WrongUseError(f"--from {spec}: there is no such source and no such file. Sources: {', '.join(known)}.")
