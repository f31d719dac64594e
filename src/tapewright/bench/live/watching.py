"""One watch as the bench holds it: the process, what it tells, who listens, and what it left at the end.

starting --> watching --> ending (figures of all of it) --> ended (with the path to look at) | refused (with why)
"""

import contextlib
import json
import subprocess
import sys
import threading
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from tapewright.bench.live import Line
from tapewright.bench.live.standing import Standing
from tapewright.errors import TapewrightError

State = Literal["starting", "watching", "ending", "ended", "refused"]
RUNNING: tuple[State, ...] = ("starting", "watching", "ending")
#: events kept for pages that come back; one that is farther behind gets the picture instead
EVENTS_KEPT = 400
CHILD = (sys.executable, "-m", "tapewright.bench.live.child")
#: A watch ends by itself after so long: its recording waits on the disk until then.
MOST_S = 3 * 3600.0
WORDLESS = "The watch ended without a word."


@dataclass(frozen=True, slots=True)
class Order:
    """What to watch.

    Attributes:
        source: as `line watch --from` has it.
        nominal: speed in baud, or "auto".
        alphabet: name of the code table.
        asked: more about the source: rate, channel, text of the practice machine.
        phase, by, instrument: how it is measured.
    """

    source: str
    nominal: str
    alphabet: str
    asked: Line
    phase: str = "between"
    by: str = ""
    instrument: str = ""


class Watching:
    """Safe to use from any thread.

    Args:
        order: what to watch.
        machine: key of the machine it is for.
        folder: a folder of its own for the recording.
        keep: takes the last line and the order, writes the book; gives the path to look at ("" for none) and words.
        rescue: takes in what was recorded of a watch that did not come to its end; says in words what becomes of it.
    """

    def __init__(
        self,
        order: Order,
        machine: str,
        folder: Path,
        keep: Callable[[Line, Order], tuple[str, str]],
        rescue: Callable[[], str] = lambda: "",
    ) -> None:
        """Start the process."""
        self.order, self._keep, self._rescue = order, keep, rescue
        self.state: State = "starting"
        self.see, self.says, self.skipped = "", "", 0
        self._standing, self._lock = Standing(), threading.Condition()
        self._events: deque[tuple[int, Line]] = deque(maxlen=EVENTS_KEPT)
        self._number = 0
        self._wake: set[Callable[[], None]] = set()
        self._child = subprocess.Popen(
            CHILD, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, encoding="utf-8"
        )
        self.tell(
            {
                "source": order.source,
                "nominal": order.nominal,
                "alphabet": order.alphabet,
                "asked": order.asked,
                "record": str(folder / "watched"),
                "most_s": MOST_S,
                "machine": machine,
                "phase": order.phase,
                "by": order.by,
                "instrument": order.instrument,
            }
        )
        self._thread = threading.Thread(target=self._hear, name="bench watch", daemon=True)
        self._thread.start()

    @property
    def running(self) -> bool:
        """Whether it goes on."""
        return self.state in RUNNING

    def tell(self, command: Line) -> None:
        """Say something to the process; one that is gone does not hear it."""
        pipe = self._child.stdin
        try:
            if pipe is not None and not pipe.closed:
                pipe.write(json.dumps(command) + "\n")
                pipe.flush()
        except (OSError, ValueError):  # gone, or closed in this moment
            pass

    def stop(self, wait_s: float = 0.0) -> None:
        """Bring it to its end, and wait so long for it."""
        self.tell({"do": "stop"})
        if wait_s:
            self._thread.join(wait_s)

    def document(self) -> Line:
        """Return how it stands."""
        with self._lock:
            return {
                "state": self.state,
                "see": self.see,
                "says": self.says,
                "event": self._number,
                "skipped": self.skipped,
                **self._standing.picture(),
            }

    def since(self, number: int) -> list[tuple[int, Line]] | None:
        """Return the events after event `number`; None when some of them are gone, so that the picture is wanted."""
        with self._lock:
            first = self._events[0][0] if self._events else self._number + 1
            if number > self._number or number < first - 1:
                return None
            return [event for event in self._events if event[0] > number]

    def skip(self) -> None:
        """Count that a page was too slow for single events."""
        with self._lock:
            self.skipped += 1

    def wake_by(self, wake: Callable[[], None]) -> Callable[[], None]:
        """Have `wake` called at every event; give what ends that."""
        with self._lock:
            self._wake.add(wake)
        return lambda: self._wake.discard(wake)

    def _hear(self) -> None:
        """Hear the process to its end."""
        assert self._child.stdout is not None
        last: Line = {"kind": "refused", "says": WORDLESS}
        for text in self._child.stdout:
            line = json.loads(text)
            if line["kind"] in ("end", "refused"):
                last = line
            else:
                self._take(line)
        self._child.wait()
        self._finish(last)
        for pipe in (self._child.stdin, self._child.stdout):
            if pipe is not None:
                with contextlib.suppress(OSError):  # what was still to be said to a process that died
                    pipe.close()

    def _take(self, line: Line) -> None:
        with self._lock:
            state: dict[str, State] = {"source": "watching", "ending": "ending"}
            self.state = state.get(line["kind"], self.state)
            self._standing.take(line)
        self._push(line)

    def _finish(self, last: Line) -> None:
        try:
            if last["kind"] == "end":
                see, says = self._keep(last, self.order)
                self._become("ended", see, says)
            else:
                self._give_up(last["says"])
        except TapewrightError as refusal:
            self._give_up(str(refusal))
        except Exception as surprise:  # a watch must not vanish without a word
            self._give_up(f"The program stopped while writing ({type(surprise).__name__}: {surprise}).")

    def _give_up(self, says: str) -> None:
        """Say why it did not come to its end, and what becomes of what was recorded."""
        self._become("refused", "", f"{says} {self._rescue()}".strip())

    def _become(self, state: State, see: str, says: str) -> None:
        with self._lock:
            self.state, self.see, self.says = state, see, says
        self._push({"kind": "over", "state": state, "see": see, "says": says})

    def _push(self, line: Line) -> None:
        with self._lock:
            self._number += 1
            self._events.append((self._number, line))
            listeners = list(self._wake)
        for wake in listeners:
            wake()
