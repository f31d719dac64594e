"""Growing files that the live page may watch: those of one folder, named by whoever started the bench."""

from pathlib import Path

from tapewright.bench import said as fields_of
from tapewright.errors import InputError
from tapewright.recordings.live.growing_file import KIND, RAW

#: the newest are offered, at most so many
MOST = 50
#: a recorder that has written no head after so long has not begun
PATIENCE_S = 10.0
NOT_HERE = (
    "this bench opens no files of this computer; start it with --growing FOLDER, the folder your recorder writes in, "
    "drop a finished recording on the line page, or watch the file in a terminal"
)
EMPTY = "nothing lies in {}: start the recorder, so that it writes its file there, then come back to this page"


def files_in(folder: Path) -> tuple[str, ...]:
    """Name the files and pipes that lie in it, newest first."""
    try:
        there = [(path.stat().st_mtime, path.name) for path in folder.iterdir() if _may_be_watched(path)]
    except OSError:
        return ()
    return tuple(name for _, name in sorted(there, reverse=True)[:MOST])


def offered(folder: Path | None) -> tuple[tuple[str, ...], str]:
    """Return the names there are, and why there is none to choose."""
    if folder is None:
        return (), NOT_HERE
    names = files_in(folder)
    return names, "" if names else EMPTY.format(folder)


def place_of(folder: Path | None, name: str) -> str:
    """Return the path of a file that the page has named.

    Raises:
        InputError: when the bench opens none, or this is none of those that lie in the folder.
    """
    names, why = offered(folder)
    if folder is None or name not in names:
        wanted = f"one of {', '.join(names)}" if names else "a growing file"
        raise InputError(
            "the watch",
            place="which one",
            expected=wanted,
            found=repr(name[:60]),
            do=f"{why[:1].upper()}{why[1:]}." if why else "",
        )
    return str(folder / name)


def raw_kind(fields: dict[str, str]) -> str | None:
    """Return how raw samples are to be taken; None for a file with a head.

    Raises:
        InputError: for a kind there is none of, or one without its rate.
    """
    raw = fields.get("raw", "")
    if raw and raw not in RAW:
        raise InputError(
            "the watch", place="what the samples are", expected=f"one of {', '.join(RAW)}", found=repr(raw[:20])
        )
    if raw and fields.get("source") == KIND and fields_of.number(fields, "rate", 1, 1e8) is None:
        raise InputError(
            "the watch", place="samples a second", expected="a number: raw samples do not tell it", found="nothing"
        )
    return raw or None


def _may_be_watched(path: Path) -> bool:
    # what a link leads to may lie anywhere
    return not path.name.startswith(".") and not path.is_symlink() and (path.is_file() or path.is_fifo())
