"""An entry that a browser sends again is done once, wherever the bench was killed in between."""

import random

import pytest

from tapewright.bench.once import BEFORE, Done, Once
from tapewright.errors import InputError

INTERRUPTIONS = 200


class Killed(BaseException):
    """The bench is gone in this moment."""


def test_the_same_entry_twice_is_one_line(tmp_path):
    book: list[str] = []
    once = Once(tmp_path / "sent.jsonl", lambda: len(book))

    def act():
        book.append("0.24 mm")
        return Done("/there", ("key",), "within")

    assert once.do("a", "/", act).says == "within"
    assert once.do("a", "/", act).says == "within"
    assert book == ["0.24 mm"]
    assert Once(tmp_path / "sent.jsonl", lambda: len(book)).do("a", "/", act).see == "/there"
    assert len(book) == 1


def test_what_was_refused_may_be_sent_again(tmp_path):
    once = Once(tmp_path / "sent.jsonl", lambda: 0)

    def refused():
        raise InputError("the reading", expected="a number", found="abc")

    for _ in range(2):
        with pytest.raises(InputError):
            once.do("a", "/", refused)
    assert once.do("a", "/", lambda: Done("/there")).see == "/there"


def test_no_entry_is_lost_and_none_is_doubled_in_random_interruptions(tmp_path):
    """Killed before the writing, after it, or while the answer was on its way; sent until it is answered."""
    chance, book, sent = random.Random(7), [], tmp_path / "sent.jsonl"
    once = Once(sent, lambda: len(book))
    for n in range(INTERRUPTIONS):
        answered = False
        while not answered:
            moment = chance.choice(("before", "after", "never", "on the way"))

            def act(n=n, moment=moment):
                if moment == "before":
                    raise Killed
                book.append(n)
                if moment == "after":
                    raise Killed
                return Done("/there", (), str(n))

            try:
                said = once.do(f"entry {n}", "/", act).says
                answered = moment != "on the way"
                assert said in (str(n), BEFORE)
            except Killed:
                once = Once(sent, lambda: len(book))
    assert book == list(range(INTERRUPTIONS))
