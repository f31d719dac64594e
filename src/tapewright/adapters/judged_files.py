"""Pictures and captures that answered a question of the margin search, kept as they were when they were judged.

A scanner or a recorder often writes the next file over the last one, so each is copied at once: beside the session when
there is one, so that a search that goes on later still has them.
"""

import re
import shutil
from pathlib import Path

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
        """Give number of the question -> copy, for the first so many questions."""
        found = {int(named[1]): copy for copy in sorted(self.folder.glob("question-*")) if (named := _named(copy))}
        return {number: copy for number, copy in found.items() if 1 <= number <= questions}

    def names(self, questions: int) -> dict[int, str]:
        """Give number of the question -> the file's own name."""
        return {number: named[2] for number, copy in self.of(questions).items() if (named := _named(copy))}


def _named(copy: Path) -> re.Match[str] | None:
    return NAMED.fullmatch(copy.name)
