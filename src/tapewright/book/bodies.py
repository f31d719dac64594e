"""What each kind of line says, field by field. To add a field, add a line.

A line may carry fields that are not listed here (a later program's); those that are listed must be as told.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from tapewright.book.kinds import KINDS, SORTS
from tapewright.furniture.phases import PHASES

#: Ends of numbers, texts and nesting (ours): what lies beyond is no line of a bench.
LARGEST, LONGEST_TEXT, LONGEST_NAME, DEEPEST = 1e15, 100_000, 500, 40
SHA256 = re.compile(r"[0-9a-f]{64}")
#: What no text may hold: control characters but for line ends and tabs, surrogates alone, and what turns the direction
#: of writing (Unicode Standard Annex 9, 2), for it makes a name read as another.
FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\u202a-\u202e\u2066-\u2069]")


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a kind of line.

    Attributes:
        name: key in the body.
        form: what it holds: one of `FORMS`.
        says: what it is, in words.
        must: whether a line needs it.
        words: the words it may hold, for the form "word".
        low, high: ends of what a number may be; nothing on a bench is larger.
        whole: whether a number has no fraction.
    """

    name: str
    form: str
    says: str
    must: bool = False
    words: tuple[str, ...] = ()
    low: float = -LARGEST
    high: float = LARGEST
    whole: bool = False


def _must(name: str, form: str, says: str, *words: str) -> Field:
    return Field(name, form, says, True, words)


def _number(value: object) -> bool:
    # compared before it is taken for a float: a whole number may have any number of digits
    return isinstance(value, int | float) and not isinstance(value, bool) and -LARGEST <= value <= LARGEST


def _source(value: object) -> bool:
    texts = isinstance(value, Mapping) and all(isinstance(value.get(key, ""), str) for key in ("name", "role"))
    return texts and isinstance(value, Mapping) and bool(SHA256.fullmatch(str(value.get("sha256"))))


#: form -> (whether a value has it, in words)
FORMS: dict[str, tuple[Callable[[Any], bool], str]] = {
    "text": (lambda value: isinstance(value, str), "text"),
    # what a line was keyed with: a bell is one of its characters
    "signal": (lambda value: isinstance(value, str), "text"),
    "texts": (lambda value: isinstance(value, list) and all(isinstance(v, str) for v in value), "a list of texts"),
    "number": (_number, "a number"),
    "reading": (lambda value: isinstance(value, str) or _number(value), "a number or text"),
    "yes or no": (lambda value: isinstance(value, bool), "true or false"),
    "word": (lambda value: isinstance(value, str), "one of a few words"),
    "table": (lambda value: isinstance(value, Mapping), "a table"),
    "list": (lambda value: isinstance(value, list), "a list"),
    "files": (lambda value: isinstance(value, list) and all(map(_source, value)), "a list of {sha256, name, role}"),
}

_NOTE = Field("note", "text", "anything else")
_SOURCES = Field("sources", "files", "photos and other files: {sha256, name, role}")
_STATION = Field("station", "text", "which station of the machine it belongs to")

FIELDS: dict[str, tuple[Field, ...]] = {
    "identity": (
        _must("name", "text", "what people call it"),
        Field("model", "text", "model or type"),
        Field("serial", "text", "serial number, or what tells it from its sisters"),
        Field("alphabet", "text", "alphabet it is built for"),
        Field("nominal_baud", "number", "speed it should have, baud", False, (), 1, 1e5),
        Field("advisor", "text", "machine model the advisor reasons with"),
        Field("modules", "texts", "parts it has that others lack"),
        Field("variants", "texts", "which variant it is"),
        Field("owner", "text", "whose it is"),
        Field("place", "text", "where it stands"),
        _NOTE,
    ),
    "intake": (
        _must("state", "text", "how it came, in a sentence"),
        Field("came_from", "text", "where it comes from"),
        Field("brought_by", "text", "who brought it"),
        Field("last_ran", "text", "when it last ran, as far as known"),
        Field("weight_kg", "number", "weight, kg", False, (), 0, 1e5),
        Field("supply", "text", "what its plate says of mains, motor and loop"),
        Field("hazards", "texts", "what can hurt: asbestos, capacitors, mercury, frayed mains lead, sharp edges"),
        Field("missing", "texts", "what is missing"),
        Field("damage", "texts", "what is broken, bent, rusted"),
        _SOURCES,
        _NOTE,
    ),
    "condition": (
        _must("part", "text", "which part"),
        _must("state", "text", "how it is: dry, gummed, rusted, worn, bent, whole"),
        Field("do", "text", "what to do about it"),
        _STATION,
        _SOURCES,
        _NOTE,
    ),
    "dismantled": (
        _must("part", "text", "what was taken off"),
        Field("bag", "text", "bag or box it went into"),
        Field("shims", "text", "shims: how many, how thick, where"),
        Field("springs", "text", "springs: which, hooked where"),
        Field("fasteners", "text", "screws, nuts, pins: how many, how long, which goes where"),
        Field("way_round", "text", "which way round it sits, marks"),
        Field("mind", "text", "what to mind when it goes back"),
        _STATION,
        _SOURCES,
        _NOTE,
    ),
    "part": (
        _must("part", "text", "part or consumable"),
        _must("what", "word", "what became of it",
              "needed", "ordered", "arrived", "fitted", "used", "made", "taken out"),
        Field("source", "text", "where it came from"),
        Field("quantity", "number", "how many or how much", False, (), 0, 1e9),
        Field("unit", "text", "unit of the quantity"),
        _STATION,
        _SOURCES,
        _NOTE,
    ),
    "electrical check": (
        _must("between", "text", "between what and what"),
        _must("reading", "reading", "what the meter said"),
        Field("unit", "text", "unit of the reading"),
        Field("at_volts", "number", "test voltage, V"),
        Field("limit", "text", "what it should be"),
        Field("source", "text", "who says so"),
        Field("verdict", "word", "judged", words=("within", "outside", "not shown")),
        Field("instrument", "text", "measured with what"),
        Field("complete", "yes or no", "the whole list is done and nothing of it is open"),
        _SOURCES,
        _NOTE,
    ),
    "session": (
        _must("what", "word", "begun or ended", "begun", "ended"),
        Field("minutes", "number", "how long it lasted, minutes", False, (), 0, 1e7),
        Field("aim", "text", "what it was for, or what was reached"),
        _NOTE,
    ),
    "evidence": (
        _must("sort", "word", "what it is evidence of", *SORTS),
        _must("phase", "word", "when in the restoration", *PHASES),
        _must("says", "text", "the result in one sentence"),
        _must("result", "table", "the result document, as the measuring command writes it"),
        Field("sources", "files", "raw files: {sha256, name, role}"),
        Field("steps", "table", "command and settings that made the result from the raw files"),
        Field("instrument", "text", "measured with what"),
        Field("temperature_c", "number", "temperature of the room, degrees Celsius", False, (), -60, 100),
        Field("running_minutes", "number", "how long the machine had been running, minutes", False, (), 0, 1e7),
        Field("supply_percent", "number", "supply against its nominal value, percent: 0 is nominal, -10 low",
              False, (), -100, 1000),
        Field("keyed", "word", "what set the pace", words=("hand", "tape", "signal")),
        _NOTE,
    ),
    "sheet": (
        _must("name", "text", "name of the sheet"),
        Field("sources", "files", "the sheet's file: {sha256, name, role}"),
        Field("variant", "text", "variant of the machine"),
        _NOTE,
    ),
    "trial": (
        _must("says", "text", "what was tried and what came of it"),
        Field("at", "table", "knob -> where it stood"),
        Field("read", "table", "reading -> what it was"),
        Field("advice", "table", "what trim made of all trials so far, as the command writes it"),
        Field("sources", "files", "the trials' file: {sha256, name, role}"),
        Field("steps", "table", "command and settings that made the advice"),
        Field("instrument", "text", "measured with what"),
        Field("temperature_c", "number", "temperature of the room, degrees Celsius", False, (), -60, 100),
        Field("running_minutes", "number", "how long the machine had been running, minutes", False, (), 0, 1e7),
        _NOTE,
    ),
    "adjustment": (
        _must("what", "text", "what was changed"),
        Field("before", "reading", "reading before"),
        Field("after", "reading", "reading after"),
        Field("unit", "text", "unit of both"),
        Field("why", "text", "for what reason"),
        Field("outcome", "text", "what came of it: helped, or no"),
        Field("cause", "text", "the advisor's cause that it is the remedy of"),
        Field("recheck", "texts", "what must be checked again"),
        _STATION,
        _SOURCES,
        _NOTE,
    ),
    "verdicts": (
        _must("says", "text", "the outcome in one sentence"),
        _must("verdicts", "list", "verdicts as the result documents carry them"),
        Field("result", "table", "the whole result document as it comes out now"),
        Field("limits", "text", "limits judged against"),
        Field("sources", "files", "the file of the new limits: {sha256, name, role}"),
        Field("steps", "table", "how it was judged"),
        _NOTE,
    ),
    "recheck": (
        _must("what", "text", "what to check again"),
        _must("state", "word", "owed or done", "owed", "done"),
        Field("because", "text", "why it is owed, or what came of it"),
        _STATION,
        _NOTE,
    ),
    "caution": (
        _must("caution", "text", "the caution as it was shown"),
        Field("step", "text", "the step it stands before"),
        _must("acknowledged", "yes or no", "whether it was read and taken on"),
        _NOTE,
    ),
    "photo": (
        _must("shows", "text", "what it shows"),
        Field("sources", "files", "the picture: {sha256, name, role}"),
        _STATION,
        _NOTE,
    ),
    "note": (_must("text", "text", "what there is to say"), _STATION, _SOURCES),
    "record": (
        _must("which", "word", "start: what we knew; end: what we know", "start", "end"),
        _must("text", "text", "in words"),
        _SOURCES,
        _NOTE,
    ),
    "soak": (
        Field("characters", "number", "characters run", True, (), 0, 1e12, True),
        Field("wrong", "number", "characters wrong", True, (), 0, 1e12, True),
        Field("minutes", "number", "how long, minutes", False, (), 0, 1e7),
        Field("state", "word", "cold or warm", words=("cold", "warm", "cold to warm")),
        Field("supply_percent", "number", "supply against its nominal value, percent", False, (), -100, 1000),
        Field("text", "signal", "what was sent"),
        _SOURCES,
        _NOTE,
    ),
}  # fmt: skip


def checked(kind: str, body: Mapping[str, Any]) -> dict[str, Any]:
    """Return the body when it says what such a line must say.

    Raises:
        ValueError: naming the field, what was expected and what was found.
    """
    if kind not in KINDS:
        raise ValueError(f"{kind!r} is no kind of line; there are {', '.join(KINDS)}")
    if _depth(body) > DEEPEST:
        raise ValueError(f"a line is nested at most {DEEPEST} deep; found a deeper one")
    for field in FIELDS[kind]:
        if field.name in body:
            _check(field, body[field.name])
        elif field.must:
            raise ValueError(f"a line of kind {kind!r} needs {field.name!r}: {field.says}")
    if kind == "soak" and body["wrong"] > body["characters"]:
        raise ValueError(f"'wrong' is at most 'characters'; found {body['wrong']} of {body['characters']}")
    return dict(body)


def check_text(name: str, text: str, longest: int = LONGEST_TEXT) -> None:
    """See that a text is one that people can read as it stands.

    Raises:
        ValueError: naming what it holds that no text may.
    """
    if len(text) > longest:
        raise ValueError(f"{name!r} has at most {longest} characters; found {len(text)}")
    if found := FORBIDDEN.search(text):
        raise ValueError(f"{name!r} holds text without control characters; found U+{ord(found[0]):04X}")


def _depth(value: object) -> int:
    """Return how deep tables and lists are nested; counting stops below what is allowed."""
    level, depth = [value], 0
    while level and depth <= DEEPEST:
        level = [inner for each in level for inner in _inner(each)]
        depth += bool(level)
    return depth


def _inner(value: object) -> Iterator[object]:
    if isinstance(value, Mapping):
        yield from value.values()
    elif isinstance(value, list | tuple):
        yield from value


def _check(field: Field, value: Any) -> None:
    fits, words = FORMS[field.form]
    if not fits(value):
        found = repr(value) if not isinstance(value, int) or abs(value) < LARGEST else "a number beyond all bounds"
        raise ValueError(f"{field.name!r} holds {words}: {field.says}; found {found[:80]}")
    if field.form in ("number", "reading") and not isinstance(value, str):
        if not field.low <= value <= field.high:
            raise ValueError(
                f"{field.name!r} lies between {field.low:g} and {field.high:g}: {field.says}; found {value:g}"
            )
        if field.whole and value != int(value):
            raise ValueError(f"{field.name!r} is a whole number: {field.says}; found {value:g}")
    readable = isinstance(value, str) and field.form != "signal"
    for text in value if field.form == "texts" else [value] if readable else ():
        check_text(field.name, text)
    if field.words and value not in field.words:
        raise ValueError(f"{field.name!r} is one of {', '.join(field.words)}; found {value!r}")
    if field.must and isinstance(value, str) and not value.strip():
        raise ValueError(f"{field.name!r} is empty: {field.says}")
