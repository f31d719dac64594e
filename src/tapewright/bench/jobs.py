r"""Work that takes longer than a page: it goes on in the background, and a reload finds it again.

    start(title, work) --> waiting --> running 0 .. 1 --> done (with the path to look at) | refused (with the reason)
                                          \--> what was found, in a sentence, while it is still being written down

The table lives in the server. What a job finds goes into the book before it is done: nothing of worth is lost with it.
"""

import secrets
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from typing import Literal

from tapewright.bench.words import in_fields
from tapewright.errors import TapewrightError

State = Literal["waiting", "running", "done", "refused"]
#: gets what to tell of the work; gives the path to look at
Work = Callable[["Telling"], str]
#: Measuring is bound by the processor: more at once would only make each slower.
AT_ONCE = 2
MOST_KEPT = 200
SMALLEST_STEP = 0.01


@dataclass(frozen=True, slots=True)
class Job:
    """One piece of work as it stands.

    Attributes:
        id: what it is asked for by.
        machine: key of the machine it is about; empty when about none.
        title: what is being done, for people.
        state: one of the four states.
        fraction: how much of it is done, 0 to 1.
        see: where the result is; empty until done.
        says: why it was refused; empty otherwise.
        found: what came out, in a sentence, as soon as it is known; empty until then.
        changes: how often it has changed, so that one who watches can tell.
    """

    id: str
    machine: str
    title: str
    state: State = "waiting"
    fraction: float = 0.0
    see: str = ""
    says: str = ""
    found: str = ""
    changes: int = 0


@dataclass(frozen=True, slots=True)
class Telling:
    """What work tells while it goes on: how much of it is done, and what came out."""

    progress: Callable[[float], None]
    found: Callable[[str], None]


class Jobs:
    """The table of jobs; safe to use from any thread."""

    def __init__(self) -> None:
        """Begin with an empty table."""
        self._table: dict[str, Job] = {}
        self._lock = threading.Lock()
        self._changes = 0
        self._workers = ThreadPoolExecutor(AT_ONCE, thread_name_prefix="bench job")

    def start(self, machine: str, title: str, work: Work) -> Job:
        """Put work in the queue."""
        job = Job(secrets.token_hex(8), machine, title)
        with self._lock:
            for old in [j.id for j in self._table.values() if j.state in ("done", "refused")][: -MOST_KEPT or None]:
                del self._table[old]
            self._table[job.id] = job
        self._workers.submit(self._run, job.id, work)
        return job

    def get(self, job: str) -> Job | None:
        """Return a job as it stands, None when there is none of this id."""
        with self._lock:
            return self._table.get(job)

    def of(self, machine: str = "") -> tuple[Job, ...]:
        """Return the jobs of a machine (all when empty), oldest first."""
        with self._lock:
            return tuple(job for job in self._table.values() if not machine or job.machine == machine)

    def since(self, change: int) -> tuple[int, tuple[Job, ...]]:
        """Return the number of changes now, and what changed after change number `change`."""
        with self._lock:
            return self._changes, tuple(job for job in self._table.values() if job.changes > change)

    def close(self) -> None:
        """Take no more work; what waits is dropped, what runs is not waited for."""
        self._workers.shutdown(wait=False, cancel_futures=True)

    def _run(self, job: str, work: Work) -> None:
        self._set(job, state="running")
        try:
            see = work(Telling(partial(self._progress, job), lambda words: self._set(job, found=words)))
            self._set(job, state="done", fraction=1.0, see=see)
        except TapewrightError as refusal:
            self._set(job, state="refused", says=in_fields(str(refusal)))
        except Exception as surprise:  # a job must not vanish without a word
            kind = type(surprise).__name__
            self._set(
                job,
                state="refused",
                says=f"The program stopped in the middle of this ({kind}: {surprise}). "
                "Nothing was written in the book. Please tell its makers.",
            )

    def _progress(self, job: str, fraction: float) -> None:
        """Note progress, but not every thousandth of it."""
        known = self.get(job)
        if known is not None and fraction - known.fraction >= SMALLEST_STEP:
            self._set(job, fraction=min(fraction, 1.0))

    def _set(self, job: str, **new: object) -> None:
        with self._lock:
            self._changes += 1
            self._table[job] = replace(self._table[job], changes=self._changes, **new)  # type: ignore[arg-type]
