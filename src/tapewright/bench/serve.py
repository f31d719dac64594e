"""Start the server and say where it is; stop it without leaving anything half-done.

While the first page is read, what the next ones need is loaded: the advisor, the measuring, each page of the machine
last worked on with its template.
"""

import asyncio
import contextlib
import gc
import importlib
import logging
import socket
import tempfile
import threading
import time
import webbrowser
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING

import uvicorn

from tapewright.bench.application import application
from tapewright.bench.bench import Bench
from tapewright.bench.drawing import Drawing
from tapewright.bench.from_book import NEWEST
from tapewright.bench.jobs import Jobs
from tapewright.bench.landing import sweep, sweep_old
from tapewright.bench.live.left_over import STILL_S
from tapewright.bench.measuring import SORTS
from tapewright.bench.page import Asking
from tapewright.bench.pages import PAGES
from tapewright.bench.trust.sharing import Sharing
from tapewright.bench.working import LOADING_S, READY_S
from tapewright.book.entry import MachineOnShelf
from tapewright.errors import TapewrightError, WrongUseError

if TYPE_CHECKING:
    from tapewright.book.ports import Book

LOOPBACK, EVERYWHERE = "127.0.0.1", "0.0.0.0"
STOP_AFTER_S = 1
SCRATCH, DAY_S = "tapewright-bench-", 86_400.0


def serve(
    book: "Book",
    *,
    port: int,
    share: bool,
    tell: Callable[[str], None],
    open_page: str | None = None,
    arrivals: Path | None = None,
    practice: Path | None = None,
    recordings: Path | None = None,
    growing: Path | None = None,
) -> None:
    """Serve until stopped.

    Args:
        book: the record of the workshop.
        port: the port; 0 for any that is free.
        share: whether other machines of the local network may be paired.
        tell: says a line to whoever started it.
        open_page: path to open in the browser; None for none.
        arrivals: folder for uploads on their way; None for one of this start.
        recordings: folder in which watches are recorded until they are in the book; None for one of this start.
        growing: folder whose growing files the live page may watch; None for none.
        practice: file in which rounds of practice are kept; None to forget them when it stops.

    Raises:
        WrongUseError: when the port is taken.
    """
    listening = _listen(EVERYWHERE if share else LOOPBACK, port)
    port = listening.getsockname()[1]
    sharing = Sharing(time.monotonic) if share else None
    sweep_old(SCRATCH, DAY_S, time.time())
    with tempfile.TemporaryDirectory(prefix=SCRATCH, ignore_cleanup_errors=True) as scratch:
        folder = arrivals or Path(scratch) / "arrivals"
        sweep(folder)
        bench = Bench(book, Jobs(), folder, practice=practice, recordings=recordings, growing=growing)
        drawing = Drawing(bench, PAGES)
        config = uvicorn.Config(
            application(bench, sharing=sharing, drawing=drawing),
            log_level="warning",
            access_log=False,
            proxy_headers=False,
            server_header=False,
            ws="none",
            timeout_graceful_shutdown=STOP_AFTER_S,
        )
        address = f"http://{LOOPBACK}:{port}"
        tell(f"The bench is at {address}/   (stop it with Ctrl-C)")
        if sharing is not None:
            tell(f"Shared on the local network at http://{_own_address()}:{port}/   pairing code {sharing.code}")
        if open_page is not None:
            threading.Thread(target=webbrowser.open, args=(address + open_page,), daemon=True).start()
        gc.freeze()
        gc.enable()
        warm_up(bench, drawing)
        _Server(config, bench).run(sockets=[listening])


def _listen(address: str, port: int) -> socket.socket:
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((address, port))
        listening.listen()  # from now on a caller waits instead of being turned away
    except OSError as reason:
        listening.close()
        says = f"--port: {port} cannot be used ({reason.strerror}); choose another, or 0 for any."
        raise WrongUseError(says) from reason
    return listening


def _own_address() -> str:
    """Return the address other machines reach this one by; nothing is sent for it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # TEST-NET-1 (RFC 5737): only the route is looked up
            return str(probe.getsockname()[0])
        except OSError:
            return socket.gethostname()


def is_no_farewell(record: logging.LogRecord) -> bool:
    """Return whether a line of the log is more than a request that was let go because the bench is stopped.

    What it did for the book is written whole or not at all; its page says that the bench does not answer.
    """
    let_go = record.exc_info is not None and record.exc_info[0] is asyncio.CancelledError
    return not let_go and "running task(s)" not in record.msg


class _Server(uvicorn.Server):
    """A server whose streams of events end when it is told to stop; it would wait for them in vain."""

    def __init__(self, config: uvicorn.Config, bench: Bench) -> None:
        super().__init__(config)
        self._bench = bench

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Take the signal."""
        self._bench.stopping.set()
        logging.getLogger("uvicorn.error").addFilter(is_no_farewell)
        super().handle_exit(sig, frame)


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
        bench.open.of(machine)  # and where it stands, which it rests on


def _pages(bench: Bench, drawing: Drawing, machine: MachineOnShelf) -> None:
    for page in drawing.pages:
        drawing.templates.get_template(f"{page.name}.html")
        if page.of == "machine":
            # whatever is not there yet has no page, and will say so itself
            with contextlib.suppress(Exception):
                page.answer(Asking(bench, {"machine": machine.key, "entry": NEWEST}, {}))
