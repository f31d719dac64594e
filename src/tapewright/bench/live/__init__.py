"""Lines that are watched as they happen: a process for each watch, what it tells, and what it leaves in the book."""

from typing import Any

#: one line that a watch tells or is told, as JSON: "tapewright/watch/1", or a command of the page
Line = dict[str, Any]
