"""What a book holds of other versions and other people: what is whole is read, what is not is named, nothing breaks.

Outside check: the json module of the standard library makes what is read.
"""

import copy
import json
from typing import Annotated, ClassVar, Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import field

from tapewright.furniture.document import UNSET, Document, Unset, figure, to_builtins
from tapewright.furniture.figures import figures
from tapewright.furniture.kept_documents import decode_what_is_whole
from tapewright.line.document import Line
from tapewright.number import Limit, Reading, Source, Standing, Verdict, judge


class Hole(Document, frozen=True, kw_only=True):
    """A hole."""

    row_label: ClassVar[str] = "track {track}"
    track: int
    diameter_mm: Annotated[Reading, figure("diameter", "mm")]
    state: Literal["clean", "partial"] = "clean"


class Feed(Document, frozen=True, kw_only=True):
    """The feed."""

    pitch_mm: Reading
    rows: int = 0


class Strip(Document, frozen=True, kw_only=True):
    """A strip."""

    format: Literal["tapewright/strip/1"] = "tapewright/strip/1"
    text: str
    feed: Feed
    holes: tuple[Hole, ...] = ()
    worst: Hole | None
    more: int | Unset = UNSET
    by_name: dict[str, float] = field(default_factory=dict)
    size: tuple[float, float] = (0.0, 0.0)
    verdicts: tuple[Verdict, ...] = ()


GAP = Limit("pitch", 2.5, 2.6, "mm", Source("ours", "", Standing.OWNER))
PITCH = Reading(2.54, 0.001, "mm", 90)
HOLES = (Hole(track=1, diameter_mm=Reading(1.83, 0.01, "mm")), Hole(track=2, diameter_mm=Reading(1.7, None, "mm")))
WHOLE = Strip(text="RY", feed=Feed(pitch_mm=PITCH), holes=HOLES, worst=HOLES[1], by_name={"a": 1.0}, size=(3.0, 4.0),
              verdicts=(judge(PITCH, GAP),))  # fmt: skip


def kept(*path, put=...):
    """Return the document as the book keeps it, with one place taken out or changed."""
    content = json.loads(json.dumps(to_builtins(WHOLE)))
    here = content
    for step in path[:-1]:
        here = here[step]
    if path and put is ...:
        del here[path[-1]]
    elif path:
        here[path[-1]] = put
    return content


def test_a_whole_document_is_read_as_it_is():
    read = decode_what_is_whole(Strip, kept())
    assert read.faults == ()
    assert read.document == WHOLE


@pytest.mark.parametrize(("path", "put", "faults"), [
    (("feed", "pitch_mm"), "wide", ("feed.pitch_mm",)),
    (("feed", "rows"), 1.5, ("feed.rows",)),
    (("holes", 1, "state"), "torn", ("holes[1].state",)),
    (("holes", 1, "track"), None, ("holes[1].track", "holes[1]")),
    (("holes",), 7, ("holes",)),
    (("worst",), [], ("worst",)),
    (("by_name", "a"), "one", ("by_name.a",)),
    (("size",), [1.0], ("size",)),
    (("verdicts", 0, "state"), "perhaps", ("verdicts[0]",)),
    (("text",), 5, ("text",)),
    (("more",), "many", ("more",)),
    (("feed",), None, ("feed",)),
])  # fmt: skip
def test_what_cannot_be_read_is_named_and_the_rest_stands(path, put, faults):
    read = decode_what_is_whole(Strip, kept(*path, put=put))
    assert read.faults == faults
    assert read.document is not None
    assert read.document.format == "tapewright/strip/1"
    if path[0] != "holes":
        assert read.document.holes == HOLES
    elif path != ("holes",):
        assert read.document.holes[0] == HOLES[0]


def test_what_an_older_version_did_not_say_stands_at_its_default():
    read = decode_what_is_whole(Strip, kept("feed", "rows"))
    assert read.document.feed.rows == 0
    read = decode_what_is_whole(Strip, kept("feed"))
    assert read.document.feed.pitch_mm.value is None
    assert read.document.feed.pitch_mm.how


def test_a_document_of_another_kind_is_none():
    class Needs(Document, frozen=True, kw_only=True):
        """Something without a default."""

        n: int

    assert decode_what_is_whole(Needs, {"m": 1}).document is None
    for content in (None, [], "x", 3):
        assert decode_what_is_whole(Strip, content).document is None


anything = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=5),
    lambda below: st.lists(below, max_size=3) | st.dictionaries(st.sampled_from(["value", "u", "track", "x"]), below),
    max_leaves=9,
)
places = st.sampled_from([
    ("text",), ("feed",), ("feed", "pitch_mm"), ("feed", "pitch_mm", "value"), ("feed", "pitch_mm", "u"), ("holes",),
    ("holes", 0), ("holes", 0, "track"), ("holes", 1, "diameter_mm"), ("worst",), ("worst", "state"), ("by_name",),
    ("size",), ("verdicts",), ("verdicts", 0), ("verdicts", 0, "low"), ("more",), ("format",),
])  # fmt: skip


@given(st.lists(st.tuples(places, anything), min_size=1, max_size=3))
def test_anything_can_be_read_and_what_comes_out_can_be_written(changes):
    content = kept()
    for path, put in changes:
        here = content
        try:
            for step in path[:-1]:
                here = here[step]
            here[path[-1]] = copy.deepcopy(put)
        except (TypeError, KeyError, IndexError):
            continue
    read = decode_what_is_whole(Strip, content)
    assert read.document is not None
    json.dumps(to_builtins(read.document), allow_nan=False)
    again = decode_what_is_whole(Strip, json.loads(json.dumps(to_builtins(read.document))))
    assert again.faults == ()


def test_the_figures_of_half_a_document_are_there_when_the_document_is_not():
    content = {
        "format": "tapewright/line/1", "text": "RY", "codes": ["01010"], "characters": "lost",
        "speed": {"unit_ms": {"value": 22.0, "u": 0.1, "unit": "ms"}, "proven": False},
        "contacts": [{"contact": "3", "closing_late_ms": {"value": 1.0, "u": 0.1, "unit": "ms", "n": 4}}, 5],
    }  # fmt: skip
    assert decode_what_is_whole(Line, content).document is None  # its source is not there, and a length is no guess
    read = {each.key: each.reading for each in figures(content, Line) if each.known}
    assert read["speed.unit_ms"] == Reading(22.0, 0.1, "ms")
    assert read["contacts.3.closing_late_ms"] == Reading(1.0, 0.1, "ms", 4)
