"""Sheets, journals and trials files: one message a fault with its line and key, and no bytes that bring it down."""

import math
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapewright.errors import InputError, InputFaultsError, TapewrightError
from tapewright.gauges.files.journal_file import journal_toml, read_journal
from tapewright.gauges.files.on_disk import BUILT_IN, sheet_bytes
from tapewright.gauges.files.sheet_file import read_sheet
from tapewright.gauges.files.toml_lines import index_lines
from tapewright.gauges.files.trials_file import read_trials
from tapewright.gauges.files.trials_writer import trials_toml
from tapewright.gauges.journal import Entry
from tapewright.gauges.requirement import LimitKind
from tapewright.gauges.trim.problem import Expectation, Knob, Problem, Seen, Target, Trial
from tapewright.number import Source, Standing

GOOD = """machine = "Gull"
source = { document = "made-up", standing = "owner's choice" }

[[requirement]]
id = "gap"
station = "contacts"
what = "Gap"
stage = "clearance"
limit = "both"
unit = "mm"
test = { low = 0.1, high = 0.2 }
"""


def faults(text, reader=lambda b: read_sheet("s.toml", b)):
    with pytest.raises((InputFaultsError, InputError)) as told:
        reader(text.encode())
    return told.value.faults if isinstance(told.value, InputFaultsError) else [told.value]


@pytest.mark.parametrize("kind", LimitKind)
def test_every_kind_of_limit_can_be_written(kind):
    test = {
        LimitKind.MIN: "test = { low = 0.1 }", LimitKind.MAX: "test = { high = 0.2 }",
        LimitKind.BOTH: "test = { low = 0.1, high = 0.2 }", LimitKind.EQUAL_WITHIN: "test = { high = 0.2 }",
    }.get(kind, "")  # fmt: skip
    text = GOOD.replace('limit = "both"', f'limit = "{kind.value}"\npositions = ["a", "b"]')
    sheet = read_sheet("s.toml", text.replace("test = { low = 0.1, high = 0.2 }", test).encode())
    assert sheet.requirements[0].kind is kind


@pytest.mark.parametrize(
    ("was", "becomes", "place"),
    [
        ('machine = "Gull"', "", "line 1, key 'machine'"),
        ('machine = "Gull"', "machine = 3", "line 1, key 'machine'"),
        ('id = "gap"', "", "line 4, key 'requirement[0].id'"),
        ('stage = "clearance"', 'stage = "clearence"', "line 8, key 'requirement[0].stage'"),
        ('unit = "mm"', 'unit = "furlong"', "line 10, key 'requirement[0].unit'"),
        ('unit = "mm"', "", "line 4, key 'requirement[0].unit'"),
        ("{ low = 0.1, high = 0.2 }", "{ low = 0.3, high = 0.2 }", "line 11, key 'requirement[0].test.low'"),
        ("{ low = 0.1, high = 0.2 }", "{ low = 0.1 }", "line 11, key 'requirement[0].test.high'"),
        ("{ low = 0.1, high = 0.2 }", "{ low = nan, high = 0.2 }", "line 11, key 'requirement[0].test.low'"),
        ("{ low = 0.1, high = 0.2 }", "0.1", "line 11, key 'requirement[0].test'"),
        ("test =", "tset =", "line 11, key 'requirement[0].tset'"),
        ("\ntest = ", "\npositions = 0\ntest = ", "line 11, key 'requirement[0].positions'"),
        ("\ntest = ", '\ndepends_on = ["gap"]\ntest = ', "line 11, key 'requirement[0].depends_on'"),
        ("\ntest = ", "\nreadjust = { low = 0.05, high = 0.15 }\ntest = ", "line 11, key 'requirement[0].readjust'"),
        ('"owner\'s choice"', '"hearsay"', "line 2, key 'source.standing'"),
        ('document = "made-up", standing = "owner\'s choice"', 'standing = "published"', "line 2, key 'source.docu"),
        ("source = {", "sauce = {", "line 2, key 'sauce'"),
        ("[[requirement]]", "[[requirement]", "line 4"),
    ],
)  # fmt: skip
def test_each_fault_has_its_place(was, becomes, place):
    assert was in GOOD
    places = [f.place for f in faults(GOOD.replace(was, becomes, 1))]
    assert any(p.startswith(place) for p in places), places


def test_one_message_for_each_fault():
    bad = GOOD + GOOD[GOOD.index("[[requirement]]") :].replace('"mm"', '"mile"').replace("0.2 }", "0.05 }")
    told = faults(bad)
    assert [f.place.split(",")[0] for f in told] == ["line 13", "line 18", "line 19"]  # id twice, unit, low above high


def test_an_id_may_come_again_for_another_variant():
    body = GOOD[GOOD.index("[[requirement]]") :]
    text = GOOD + 'variants = ["A"]\n\n' + body.replace("0.2 }", "0.3 }") + 'variants = ["B"]\n'
    assert read_sheet("s.toml", text.encode(), "B").requirements[0].test.high == 0.3
    assert read_sheet("s.toml", text.encode(), "A").requirements[0].test.high == 0.2
    with pytest.raises(InputFaultsError, match="one of the variants of this sheet: A, B"):
        read_sheet("s.toml", text.encode(), "C")


keys = st.text("abcXYZ09_-", min_size=1, max_size=6)
scalars = st.one_of(
    st.integers(-9, 9).map(str),
    st.sampled_from(['"a # [b]"', "'c]'", '"""x\n[[y]]\n""" # z', "[1,\n 2, # ]\n3]", "{ k = 1, l = [2] }", "true"]),
)


@given(st.lists(st.tuples(keys, st.lists(st.tuples(keys, scalars), max_size=3, unique_by=lambda p: p[0])), max_size=4))
def test_every_key_is_found_on_the_line_it_was_written(tables):
    """Write tables, noting the line of each key; the reader must agree that it is TOML, the index with our notes."""
    lines, expected, counts = [], {}, {}
    for name, pairs in tables:
        number = counts[name] = counts.get(name, -1) + 1
        lines.append(f"[[{name}]]")
        expected[(name, number)] = len("\n".join(lines).split("\n"))
        for key, value in pairs:
            expected[(name, number, key)] = len("\n".join(lines).split("\n")) + 1
            lines.append(f"{key} = {value}")
    text = "\n".join(lines)
    tomllib.loads(text)
    index = index_lines(text)
    for path, line in expected.items():
        assert index.line_of(path) == line


SEEDS = [sheet_bytes(name) for name in BUILT_IN] + [GOOD.encode()]


def broken(data):
    """Good files with some bytes changed, cut or doubled."""
    seed = data.draw(st.sampled_from([s[:4000] for s in SEEDS]))
    at = data.draw(st.integers(0, len(seed)))
    return seed[:at] + data.draw(st.binary(max_size=12)) + seed[at + data.draw(st.integers(0, 20)) :]


def survives(reader, content):
    """Read; anything but a good answer must be a told fault, not a traceback."""
    told = "expected"
    try:
        reader(content)
    except TapewrightError as error:
        told = str(error)
    assert "expected" in told


@settings(max_examples=60)
@given(st.data())
def test_no_bytes_bring_the_sheet_reader_down(data):
    survives(lambda b: read_sheet("s.toml", b), broken(data))


@settings(max_examples=80)
@given(st.binary(max_size=200), st.sampled_from(["r.csv", "r.toml"]))
def test_no_bytes_bring_the_other_readers_down(data, name):
    sheet = read_sheet("s.toml", GOOD.encode())
    heads = {"r.csv": (b"id,value,u,eye\n", b"trial,a,b\nrole,knob,reading\n"), "r.toml": (b"", b"")}[name]
    for reader, head in (
        (lambda b: read_journal(name, b, sheet), heads[0]),
        (lambda b: read_trials(name, b), heads[1]),
    ):
        for content in (data, head + data):
            survives(reader, content)


numbers = st.floats(-1e6, 1e6)


@given(
    st.lists(
        st.one_of(
            st.builds(lambda v, u: Entry("gap", value=v, u=abs(u)), numbers, numbers),
            st.builds(lambda a, b: Entry("gap", low=min(a, b), high=max(a, b), locked=True), numbers, numbers),
            st.builds(lambda a: Entry("gap", low=a, high=math.inf), numbers),
            st.builds(lambda a: Entry("gap", leaves=(abs(a) + 1, 2.0), warm=False), numbers),
            st.builds(lambda t: Entry("gap", changed=t, undo="back"), st.text(min_size=1, max_size=20)),
        ),
        max_size=5,
    )
)
def test_a_journal_reads_back_as_it_was_written(entries):
    sheet = read_sheet("s.toml", GOOD.encode())
    back = read_journal("j.toml", journal_toml(tuple(entries)).encode("utf-8", "replace"), sheet)
    wanted = [
        Entry(**{**{f: getattr(e, f) for f in e.__slots__}, "changed": e.changed.encode("utf-8", "replace").decode()})
        for e in entries
    ]
    assert list(back) == wanted


@pytest.mark.parametrize(
    ("row", "place"),
    [
        ("gape,0.1,,", "id"), ("gap,abc,,", "value"), ("gap,0.1,-1,", "u"), ("gap,,,yes", "eye"), ("gap,,,", "id"),
    ],
)  # fmt: skip
def test_each_fault_of_a_journal_has_its_row_and_column(row, place):
    sheet = read_sheet("s.toml", GOOD.encode())
    text = f"id,value,u,eye\ngap,0.15,0.01,\n{row}\n"
    told = faults(text, lambda b: read_journal("r.csv", b, sheet))
    assert told[0].place == f"line 3, key 'entry[1].{place}'"


@given(st.data())
def test_trials_read_back_as_they_were_written(data):
    K, J, T = (data.draw(st.integers(1, n)) for n in (3, 3, 4))
    seen = st.one_of(
        st.none(), st.builds(Seen, numbers), st.builds(lambda v, u: Seen(v, abs(u)), numbers, numbers),
        st.builds(lambda a, d: Seen(low=a, high=a + 1 + abs(d)), numbers, numbers),
        st.builds(lambda a: Seen(low=a), numbers),
    )  # fmt: skip
    problem = Problem(
        tuple(Knob(f"knob {k}", "turn", data.draw(st.floats(0.01, 9)), data.draw(st.floats(0, 1))) for k in range(K)),
        tuple(Target(f'"r" {j}', "mm", 0.1, data.draw(st.floats(0.2, 9)), 0.01) for j in range(J)),
        tuple(
            Trial(tuple(data.draw(numbers) for _ in range(K)), tuple(data.draw(seen) for _ in range(J)))
            for _ in range(T)
        ),
    )
    assert read_trials("t.toml", trials_toml(problem).encode()) == problem


def test_limits_keep_their_source_and_trials_what_was_expected():
    limits = Source('the "blue" manual', "page 3", Standing.MANUAL)
    problem = Problem(
        (Knob("a", "turn"), Knob("b", "turn")), (Target("r", "mm", 0.1, 0.2, 0.01, source=limits),),
        (Trial((0.0, 0.0), (Seen(0.3),)),), (Expectation(1, 0, -0.4, 0.08),),
    )  # fmt: skip
    assert read_trials("t.toml", trials_toml(problem).encode()) == problem
