r"""The picture of a capture made while the capture is written in the book, so that the page need not wait for it.

    measured --> written in the book          (one processor)
            \--> samples copied, pyramid      (the other)

A page that asks meanwhile waits for the same piece of work.
"""

import contextlib
import json
import threading
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from tapewright.bench.traces.kept import Kept


def key_of(body: Mapping[str, Any]) -> str:
    """Name the study of line evidence after what it is made from: the file, and how it was read."""
    said = body.get("steps", {}).get("settings", {})
    source = body.get("result", {}).get("source", {})
    return f"line {source.get('sha256')} {json.dumps(said, sort_keys=True)}"


def begin(traces: Kept, sort: str, body: Mapping[str, Any], raw: Path) -> Callable[[], None]:
    """Begin it; call what is given back before the file is taken away. What fails here is made when it is asked for."""
    if sort != "line":
        return lambda: None

    def work() -> None:
        from tapewright.bench.traces.line_study import study_file

        with contextlib.suppress(Exception):
            traces.get(key_of(body), lambda folder: study_file(body, raw, folder))

    thread = threading.Thread(target=work, name="bench picture", daemon=True)
    thread.start()
    return thread.join
