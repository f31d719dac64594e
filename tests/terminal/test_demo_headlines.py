"""The demo shows a headline a chapter, in the very words the chapter prints; with `--verbose` it shows them all."""

import re

import pytest

from tapewright.terminal.demo import CHAPTERS, headline
from tapewright.terminal.run import run

MOST_LINES = 6


def plain(text):
    return re.sub(r"\s+", " ", text)


def test_a_headline_is_what_the_chapter_prints(tmp_path, capsys):
    short = headline(CHAPTERS[0], tmp_path)
    assert capsys.readouterr().out == ""
    assert len(short) == 2
    # the practice machine's motor is 1 per cent slow and its contact 3 closes 1.52 ms late: it says so when it composes
    assert re.search(r"motor speed: (0\.9|1\.0)\d % slow", short[0])
    assert re.search(r"contact 3: closes 1\.5\d ± 0\.0\d ms late", short[1])


@pytest.mark.slow
def test_every_chapter_has_its_headline(tmp_path, capsys):
    assert run(["demo", "--no-serve", "--keep", str(tmp_path / "short")]) == 0
    short = capsys.readouterr().out.split("\nAll that the chapters print")[0]
    chapters = re.split(r"^\d+\. ", short, flags=re.MULTILINE)
    assert [chapter.splitlines()[0] for chapter in chapters[1:]] == [chapter.title for chapter in CHAPTERS]
    assert run(["demo", "--no-serve", "--verbose", "--keep", str(tmp_path / "whole")]) == 0
    whole = capsys.readouterr().out.split("\n== ")[1:]
    for chapter, everything in zip(chapters[1:], whole, strict=True):
        lines = re.split(r"\n   (?! )", chapter.rstrip())[1:]
        assert 1 <= len(lines) <= MOST_LINES, chapter
        everything = plain(everything.replace(f"{tmp_path / 'whole'}/", ""))
        assert all(plain(line) in everything for line in lines), chapter
        assert len(everything) > 2 * len(chapter)
