"""Pictures and captures that answered a question of the margin search, kept as they were when they were judged.

A scanner or a recorder often writes the next file over the last one, so each is copied at once: beside the session when
there is one, so that a search that goes on later still has them.

Files of the margin search: answers made beforehand, and a session that survives a restart.
"""

import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tapewright.errors import InputError
from tapewright.furniture.whole_file import write_whole
from tapewright.margin.ends import Answer
from tapewright.margin.find import Asked, Search

FORMAT = "tapewright/margin-session/1"
LARGEST_BYTES = 1_000_000
WORDS: dict[str, Answer] = {
    "right": "right", "r": "right", "yes": "right", "y": "right", "wrong": "wrong", "w": "wrong", "no": "wrong",
    "n": "wrong", "can't say": "can't say", "?": "can't say",
}  # fmt: skip
SESSION = "a session of `line margin` for the same scale"


def answer_of(word: str) -> Answer | None:
    """Return the answer a word stands for, None when it is none."""
    return WORDS.get(word.strip().lower().replace("’", "'"))


def read_answers(path: Path) -> Iterator[Answer]:
    """Return the answers in a file, one a line: right, wrong, can't say (or y, n, ?); # begins a remark.

    Raises:
        InputError: for a line that is none of them.
    """
    for n, line in enumerate(_text(path, "answers, one a line").splitlines(), start=1):
        word = line.split("#")[0].strip()
        if not word:
            continue
        answer = answer_of(word)
        if answer is None:
            raise InputError(path.name, place=f"row {n}", expected="right, wrong or can't say", found=repr(word[:40]))
        yield answer


def write_session(path: Path, search: Search, about: dict[str, Any]) -> None:
    """Write a search down, all or nothing."""
    document = {
        "format": FORMAT,
        "scale": [search.scale.low, search.scale.high],
        **about,
        "asked": [{"at": one.at, "answer": one.answer} for one in search.asked],
    }
    write_whole(path, json.dumps(document, indent=1))


def read_session(path: Path, search: Search, about: dict[str, Any]) -> None:
    """Take up a search where it was put down; nothing happens when there is no such file yet.

    Raises:
        InputError: when the file is something else, or belongs to another scale or signal.
    """
    if not path.exists():
        return
    try:
        document = json.loads(_text(path, SESSION))
        if document["format"] != FORMAT:
            raise ValueError
        asked = [_asked(one, search) for one in document["asked"]]
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as reason:
        do = "Give another name to begin anew."
        raise InputError(path.name, expected=SESSION, found="something else", do=do) from reason
    other = [key for key, value in about.items() if document.get(key) != value]
    if document.get("scale") != [search.scale.low, search.scale.high]:
        other.append("scale")
    if other:
        do = "Give the same options, or another name to begin anew."
        raise InputError(path.name, expected=SESSION, found=f"another {' and '.join(other)}", do=do)
    search.asked[:] = asked


def _asked(one: dict[str, Any], search: Search) -> Asked:
    at, answer = one["at"], answer_of(one["answer"])
    if isinstance(at, bool) or not isinstance(at, int | float) or answer is None:
        raise ValueError
    if not search.scale.low <= at <= search.scale.high:
        raise ValueError
    return Asked(float(at), answer)


def _text(path: Path, expected: str) -> str:
    if path.stat().st_size > LARGEST_BYTES:
        raise InputError(path.name, expected=expected, found="a larger file")
    try:
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as reason:
        raise InputError(path.name, place=f"byte {reason.start}", expected=expected, found="no text") from reason


NAMED = re.compile(r"question-(\d+)-(.+)")


class JudgedFiles:
    """Copies in a folder, named by question and file."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def keep(self, number: int, file: Path) -> None:
        """Copy the file that answered a question."""
        self.folder.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(file, self.folder / f"question-{number:02d}-{file.name}")

    def forget(self, number: int) -> None:
        """Take away what answered a question that is asked again."""
        for copy in self.folder.glob(f"question-{number:02d}-*"):
            copy.unlink(missing_ok=True)

    def of(self, questions: int) -> dict[int, Path]:
        """Return number of the question -> copy, for the first so many questions."""
        found = {int(named[1]): copy for copy in sorted(self.folder.glob("question-*")) if (named := _named(copy))}
        return {number: copy for number, copy in found.items() if 1 <= number <= questions}

    def names(self, questions: int) -> dict[int, str]:
        """Return number of the question -> the file's own name."""
        return {number: named[2] for number, copy in self.of(questions).items() if (named := _named(copy))}


def _named(copy: Path) -> re.Match[str] | None:
    return NAMED.fullmatch(copy.name)
