"""What each kind of line must say, and what is typed as FIELD=VALUE."""

import contextlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapewright.book.bodies import FIELDS, FORMS, checked
from tapewright.book.entry import NewEntry
from tapewright.book.kinds import KINDS
from tapewright.book.timeline import LONGEST, SAID_BY, in_short, printable
from tapewright.book.typed import READERS, body_from, kind_named


def test_every_kind_has_its_fields_and_its_short_form():
    assert set(FIELDS) == set(KINDS) == set(SAID_BY)
    assert all(field.form in FORMS for fields in FIELDS.values() for field in fields)
    assert all(bool(field.words) == (field.form == "word") for fields in FIELDS.values() for field in fields)
    assert set(READERS) == set(FORMS) - {"texts"}
    # what a list shows of a line is something the line can say
    told = {kind: {field.name for field in fields} for kind, fields in FIELDS.items()}
    assert all(set(SAID_BY[kind]) <= told[kind] for kind in KINDS)


@pytest.mark.parametrize(("kind", "words", "body"), [
    ("adjustment", ["what=gap", "before=0,42", "after=0.50", "recheck=a", "recheck=b"],
     {"what": "gap", "before": 0.42, "after": 0.5, "recheck": ["a", "b"]}),
    ("electrical check", ["between=L and case", "reading=>20", "complete=yes"],
     {"between": "L and case", "reading": ">20", "complete": True}),
    ("soak", ["characters=10000", "wrong=0"], {"characters": 10_000, "wrong": 0}),
    ("trial", ["says=x", 'at={"low screw": 0.5}'], {"says": "x", "at": {"low screw": 0.5}}),
    ("note", ["text=a=b"], {"text": "a=b"}),
])  # fmt: skip
def test_typed_fields(kind, words, body):
    assert checked(kind, body_from(kind, words)) == body


@pytest.mark.parametrize(("kind", "words", "match"), [
    ("note", [], "needs 'text'"),
    ("note", ["text= "], "is empty"),
    ("note", ["tekst=x"], "did you mean 'text'"),
    ("note", ["text"], "no FIELD=VALUE"),
    ("note", ["text=a", "text=b"], "said twice"),
    ("session", ["what=paused"], "one of begun, ended"),
    ("soak", ["characters=many", "wrong=0"], "a number"),
    ("soak", ["characters=nan", "wrong=0"], "a number"),
    ("caution", ["caution=x", "acknowledged=perhaps"], "true or false"),
    ("trial", ["says=x", "at=[1]"], "a table"),
    ("trial", ["says=x", "at={"], "a table"),
])  # fmt: skip
def test_what_is_refused(kind, words, match):
    with pytest.raises(ValueError, match=match):
        checked(kind, body_from(kind, words))


def test_kinds_are_found_by_name():
    assert kind_named("Electrical-Check") == "electrical check"
    with pytest.raises(ValueError, match="there is dismantled"):
        kind_named("dismanteled")
    with pytest.raises(ValueError, match="no kind"):
        checked("poem", {})


SINGLE = st.none() | st.booleans() | st.floats() | st.text()
JSON = st.recursive(SINGLE, lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner), max_leaves=6)


@settings(max_examples=50)
@given(st.sampled_from(list(KINDS)), st.dictionaries(st.sampled_from(
    sorted({field.name for fields in FIELDS.values() for field in fields})), JSON))  # fmt: skip
def test_any_body_is_checked_and_said_in_short(kind, body):
    """A bundle may bring anything: checking answers yes or with a reason, and a list shows one line."""
    with contextlib.suppress(ValueError):
        assert checked(kind, body) == body
    short = in_short(NewEntry("0" * 32, kind, body))
    assert len(short) <= LONGEST
    assert short.isprintable()
    assert printable(short) == short
