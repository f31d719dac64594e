"""Load what advises, then what measures, while the first page is read: next page and first file wait for nothing."""

import importlib
import threading

from tapewright.errors import TapewrightError
from tapewright.web.bench import Bench
from tapewright.web.measuring import SORTS

#: The first page comes first: all this shares the processor with it. The next page is asked for before any file is.
AFTER_S = 0.4
MOST_MACHINES = 6


def warm_up(bench: Bench) -> None:
    """Do it a little later, in the background."""
    later = threading.Timer(AFTER_S, _load, (bench,))
    later.daemon = True
    later.start()


def _load(bench: Bench) -> None:
    newest = sorted(bench.book.machines(), key=lambda machine: machine.last_at, reverse=True)
    for machine in newest[:MOST_MACHINES]:
        try:
            bench.standings.of(machine)
        except TapewrightError:
            continue  # its page will say why
    for module in (*(sort.module for sort in SORTS.values()), "tapewright.web.recognise", "tapewright.app.keep_result"):
        importlib.import_module(module)
