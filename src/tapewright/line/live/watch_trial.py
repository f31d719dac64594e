"""Trials marked while watching the line, as lines of the book."""

from typing import Any

from tapewright.line.live.events import Compared, Event, Marked
from tapewright.line.live.watch_json import compared_body
from tapewright.line.live.watch_text import trial_words

NOTE = "marked while watching the line"
TOO_LITTLE = "not compared: too little was keyed before it or after it"


class MarkedTrials:
    """Keeps every trial as last seen: a screw that was turned was turned, compared or not."""

    def __init__(self) -> None:
        """Begin without any."""
        self._bodies: dict[int, dict[str, Any]] = {}

    def take(self, event: Event | None) -> int | None:
        """Take an event; give the number of the trial it tells of, None for any other."""
        if isinstance(event, Compared):
            self._bodies[event.number] = trial_body(event)
        elif isinstance(event, Marked):
            self._bodies[event.number] = _marked_body(event)
        else:
            return None
        return event.number

    def body(self, number: int) -> dict[str, Any]:
        """Return one trial as the body of a line."""
        return self._bodies[number]

    def bodies(self) -> list[dict[str, Any]]:
        """Return all of them, in the order they were made."""
        return [self._bodies[number] for number in sorted(self._bodies)]


def trial_body(event: Compared) -> dict[str, Any]:
    """Return the body of the line: what was turned, and what is shown to have changed."""
    return {"says": trial_words(event), "note": NOTE, "steps": _steps(compared_body(event))}


def _marked_body(event: Marked) -> dict[str, Any]:
    compared = {"at_s": event.at_s, "number": event.number, "label": event.label,
                "characters_before": event.characters, "characters_after": 0, "changes": []}  # fmt: skip
    return {"says": f"{event.label}: {TOO_LITTLE}", "note": NOTE, "steps": _steps(compared)}


def _steps(compared: dict[str, Any]) -> dict[str, Any]:
    return {"command": "line watch", "compared": compared}
