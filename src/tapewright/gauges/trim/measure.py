"""Recommend the next move of the knobs from the trials so far."""

from collections.abc import Mapping
from pathlib import Path

from tapewright.furniture.document import to_builtins
from tapewright.furniture.settings import from_steps
from tapewright.gauges.document import Trim
from tapewright.gauges.files.trials_file import read_trials
from tapewright.gauges.measure import sheet_named
from tapewright.gauges.settings import SheetSettings
from tapewright.gauges.trim.advice import advise


def measure(files: Mapping[str, Path], settings: SheetSettings | Mapping[str, object]) -> Trim:
    """Advise from "trials" of the files, with the limits of "sheet" when there is one.

    Raises:
        InputError: what cannot be read.
    """
    chosen = settings if isinstance(settings, SheetSettings) else from_steps(SheetSettings, settings)
    sheet = sheet_named(str(files["sheet"]), chosen.variant) if "sheet" in files else None
    return advise(read_trials(str(files["trials"]), files["trials"].read_bytes(), sheet))


def document(advice: Trim) -> dict[str, object]:
    """Return the document as dictionaries, as the book keeps it."""
    content: dict[str, object] = to_builtins(advice)
    return content
