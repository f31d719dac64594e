"""Typed documents: written as the contract has it, read back the same, refused with the place, and their schema.

Outside checks: the json module of the standard library reads what is written; jsonschema holds it to the schema.
"""

import json
from typing import Annotated

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapewright.errors import InputError
from tapewright.furniture.document import UNSET, Document, Unset, decode, figure, json_schema, to_builtins, told
from tapewright.number import Limit, Reading, Source, Standing, State, Verdict, missing


class Part(Document, frozen=True, kw_only=True):
    """A part."""

    name: str
    late_ms: Annotated[Reading, figure("late", "ms", "Late is positive.")]
    seen: tuple[int, int] = (0, 0)
    only_sometimes: int | Unset = UNSET


class Whole(Document, frozen=True, kw_only=True):
    """A whole."""

    format: str = "tapewright/whole/1"
    parts: Annotated[tuple[Part, ...], told("Every part.")]
    verdicts: tuple[Verdict, ...] = ()


finite = st.floats(-1e6, 1e6)
readings = st.builds(Reading, finite, st.none() | st.floats(0, 1e3), st.just("ms"), st.none() | st.integers(0, 10**6))
limits = st.builds(lambda low, width: Limit("a gap", low, low + width, "mm",
                   Source("a sheet", "", Standing.MANUAL)), finite, st.floats(0, 10))  # fmt: skip
verdicts = st.builds(
    Verdict, st.sampled_from(State), limits, st.none() | finite, st.none() | st.floats(0, 9), st.text()
)
parts = st.builds(Part, name=st.text(), late_ms=readings, seen=st.tuples(st.integers(0, 9), st.integers(0, 9)),
                  only_sometimes=st.just(UNSET) | st.integers(0, 9))  # fmt: skip
wholes = st.builds(Whole, parts=st.lists(parts, max_size=3).map(tuple),
                   verdicts=st.lists(verdicts, max_size=2).map(tuple))  # fmt: skip


@given(wholes)
def test_what_is_written_reads_back_the_same_and_fits_its_schema(whole):
    written = json.dumps(to_builtins(whole), allow_nan=False)
    assert decode(Whole, written.encode()) == whole
    assert decode(Whole, json.loads(written)) == whole
    jsonschema.validate(json.loads(written), json_schema(Whole))


def test_a_reading_that_could_not_be_had_is_null():
    part = Part(name="3", late_ms=missing("ms", "never seen"))
    assert to_builtins(part)["late_ms"] is None
    assert decode(Part, {"name": "3", "late_ms": None}).late_ms.value is None


def test_a_key_of_a_newer_version_is_passed_over():
    assert decode(Part, {"name": "3", "late_ms": None, "colour": "brass"}).name == "3"


@pytest.mark.parametrize(("content", "place"), [
    ({"name": 3, "late_ms": None}, "$.name"), ({"late_ms": None}, ""),
    ({"name": "3", "late_ms": {"value": "much"}}, ""), ({"name": "3", "late_ms": {"value": 1e300, "unit": "ms"}}, ""),
    (b"[1, 2", ""), (b"[" * 100_000, ""), (b'{"name": "3", "late_ms": {"value": NaN}}', ""),
])  # fmt: skip
def test_what_is_none_is_refused_with_the_place(content, place):
    with pytest.raises(InputError) as refused:
        decode(Part, content, "odd.json")
    assert "odd.json" in str(refused.value)
    assert place in str(refused.value)


@pytest.mark.parametrize("spoilt", [
    {"format": "tapewright/whole/1"}, {"format": "x", "parts": [], "verdicts": [], "more": 1},
    {"format": "x", "parts": [{"name": "3", "late_ms": 4, "seen": [0, 0]}], "verdicts": []},
])  # fmt: skip
def test_the_schema_refuses_what_is_not_written_so(spoilt):
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(spoilt, json_schema(Whole))


def test_a_value_cannot_be_changed_but_another_made():
    one = Reading(1.0, 0.1, "ms")
    with pytest.raises(AttributeError, match="cannot be changed"):
        one.value = 2.0
    assert one.but(value=2.0) == Reading(2.0, 0.1, "ms")
    assert one == Reading(1.0, 0.1, "ms")
    assert hash(one) == hash(Reading(1.0, 0.1, "ms"))
