"""What every command shares: `--json`, exit codes from verdicts, progress on anything over a second."""

import json
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import Any, TypeVar

import click

from tapewright.core.measurement.verdict import State, Verdict

_Command = TypeVar("_Command", bound=Callable[..., Any])

DONE, OUTSIDE, NOT_SHOWN = 0, 1, 3
SHOW_PROGRESS_AFTER_S = 1.0


def json_option(command: _Command) -> _Command:
    """Add `--json` to a click command."""
    option = click.option("--json", "as_json", is_flag=True, help="One JSON document on standard output.")
    return option(command)


def write_json(document: dict[str, Any]) -> None:
    """Write one JSON document to standard output; NaN is refused because JSON has none."""
    click.echo(json.dumps(document, indent=2, allow_nan=False, ensure_ascii=False))


def exit_code(verdicts: Iterable[Verdict]) -> int:
    """Give 1 if anything is outside, else 3 if anything is not shown, else 0 (contract)."""
    states = {verdict.state for verdict in verdicts}
    return OUTSIDE if State.OUTSIDE in states else NOT_SHOWN if State.NOT_SHOWN in states else DONE


@contextmanager
def progress(what: str) -> Iterator[Callable[[float], None]]:
    """Give a function that takes the fraction done (0 to 1); a bar appears on standard error after a second."""
    started = time.monotonic()
    bar: Any = None
    task: Any = None

    def report(fraction: float) -> None:
        nonlocal bar, task
        if bar is None:
            if time.monotonic() - started < SHOW_PROGRESS_AFTER_S or not sys.stderr.isatty():
                return
            from rich.console import Console
            from rich.progress import Progress

            bar = Progress(console=Console(stderr=True), transient=True)
            task = bar.add_task(what, total=1.0)
            bar.start()
        bar.update(task, completed=fraction)

    try:
        yield report
    finally:
        if bar is not None:
            bar.stop()
