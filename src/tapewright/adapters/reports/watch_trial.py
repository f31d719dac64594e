"""A trial that was marked while watching the line, as a line of the book."""

from typing import Any

from tapewright.adapters.reports.watch_json import compared_body
from tapewright.adapters.reports.watch_text import trial_words
from tapewright.core.line.live.events import Compared


def trial_body(event: Compared) -> dict[str, Any]:
    """Give the body of the line: what was turned, and what is shown to have changed."""
    steps = {"command": "line watch", "compared": compared_body(event)}
    return {"says": trial_words(event), "note": "marked while watching the line", "steps": steps}
