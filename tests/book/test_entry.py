"""A line of the book: refused when it cannot be one, and its fingerprint the same in every book."""

import hashlib
import json
from datetime import UTC, datetime, timedelta, timezone

import pytest

from tapewright.book.entry import NewEntry, canonical, key_of

AT = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)
LINE = NewEntry("0" * 32, "note", {"text": "Größe", "b": 1, "a": [1.5, None]}, by="Ada")


def test_fingerprint_is_sha256_of_the_canonical_json() -> None:
    # Outside check: hashlib (FIPS 180-4) over JSON that the standard library writes from a literal
    literal = (
        '{"at":"2026-03-01T09:30:00.000000+00:00","body":{"a":[1.5,null],"b":1,"text":"Größe"},"by":"Ada","files":[],'
        '"kind":"note","machine":"00000000000000000000000000000000","program":"1","replaces":null,"rests_on":[]}'
    )
    assert key_of(LINE, AT, "1") == hashlib.sha256(literal.encode()).hexdigest()
    assert json.loads(canonical(LINE, AT, "1"))["body"] == LINE.body


def test_fingerprint_does_not_depend_on_order_or_time_zone() -> None:
    other = NewEntry("0" * 32, "note", {"a": [1.5, None], "b": 1, "text": "Größe"}, by="Ada")
    east = AT.astimezone(timezone(timedelta(hours=5)))
    assert key_of(other, east, "1") == key_of(LINE, AT, "1")


@pytest.mark.parametrize("change", ["kind", "files", "rests_on", "replaces"])
def test_what_is_no_line_is_refused(change: str) -> None:
    wrong = {"kind": "poem", "files": ("abc",), "rests_on": ("Z" * 64,), "replaces": "1"}[change]
    with pytest.raises(ValueError, match=r"no kind of line|no SHA-256"):
        NewEntry(**{"machine": "0" * 32, "kind": "note", "body": {}, change: wrong})


def test_what_json_cannot_hold_is_refused() -> None:
    with pytest.raises(ValueError, match="JSON cannot"):
        key_of(NewEntry("0" * 32, "note", {"x": float("nan")}), AT, "1")
