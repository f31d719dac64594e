"""Load what advises, what measures and what is drawn, while the first page is read: next page and first file wait less.

first page shown -> the advisor, for the machine last worked on -> measuring -> each page of it, and its template
"""

import contextlib
import importlib
import threading
import time

from tapewright.bench.bench import Bench
from tapewright.bench.drawing import Drawing
from tapewright.bench.evidence_of import NEWEST
from tapewright.bench.live.left_over import STILL_S
from tapewright.bench.measuring import SORTS
from tapewright.bench.page import Asking
from tapewright.bench.working import LOADING_S, READY_S
from tapewright.book.entry import MachineOnShelf
from tapewright.errors import TapewrightError

#: The first page comes first: all this shares the processor with it. If nobody asks for one, it begins after this long.
AFTER_S = 1.0
#: The first page is on its way to the browser by then.
SENT_S = 0.02
MOST_MACHINES = 6
MODULES = (*(sort.module for sort in SORTS.values()), "tapewright.bench.recognise", "tapewright.book.keep_result")


def warm_up(bench: Bench, drawing: Drawing) -> None:
    """Do it after the first page, in the background; until it is done, a page that takes longer says so."""
    bench.working.patience_s = LOADING_S
    threading.Thread(target=_load, args=(bench, drawing), name="bench warm-up", daemon=True).start()


def _load(bench: Bench, drawing: Drawing) -> None:
    bench.shown.wait(AFTER_S)
    time.sleep(SENT_S)
    newest = sorted(bench.book.machines(), key=lambda machine: machine.last_at, reverse=True)
    for machine in newest[:1]:
        _stands(bench, machine)
    for module in MODULES:
        importlib.import_module(module)
    for machine in newest[:1]:
        _pages(bench, drawing, machine)
    for machine in newest[1:MOST_MACHINES]:
        _stands(bench, machine)
    bench.working.patience_s = READY_S
    for wait_s in (0.0, STILL_S + 5.0):  # what a bench that was killed a moment ago left may still look alive
        if not bench.stopping.wait(wait_s):
            bench.left_over.take_in()


def _stands(bench: Bench, machine: MachineOnShelf) -> None:
    with contextlib.suppress(TapewrightError):  # its page will say why
        bench.standings.of(machine)


def _pages(bench: Bench, drawing: Drawing, machine: MachineOnShelf) -> None:
    for page in drawing.pages:
        drawing.templates.get_template(f"{page.name}.html")
        if page.of == "machine":
            # whatever is not there yet has no page, and will say so itself
            with contextlib.suppress(Exception):
                page.answer(Asking(bench, {"machine": machine.key, "entry": NEWEST}, {}))
