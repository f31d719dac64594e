"""One record of settings, four doors: command, form, keywords, book. What one takes all take; what one refuses all do.

Outside checks: `float` and `int` of the standard library read what a kind wrote.
"""

import json
import re
import string
from dataclasses import dataclass
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from tapewright.errors import InputError, WrongUseError
from tapewright.furniture.kinds import (
    Choice,
    Flag,
    Kind,
    Named,
    NotOfKindError,
    Number,
    Numbers,
    Several,
    Text,
    Whole,
)
from tapewright.furniture.options import File, click_options
from tapewright.furniture.settings import (
    RefusedError,
    Settings,
    form_fields,
    from_form,
    from_keywords,
    from_steps,
    setting,
    to_steps,
)

HALF = Number(0, 50, "percent")


@dataclass(frozen=True, kw_only=True)
class Punching(Settings):
    """Settings with each kind among them."""

    nominal: float | None = setting(
        Number(10, 400, "Bd", exactly={45.45: 1000 / 22, 45.0: 1000 / 22}), "Speed it should have", None, unset="auto"
    )
    idle: str = setting(Choice(("auto", "high", "low")), "Level at rest", "auto", "Level of the line at rest.")
    threshold: tuple[float, ...] | None = setting(Numbers(1, 2), "Level, or low and high", None, unset="auto")
    expect: str | None = setting(Text(lines=True, from_file=True), "Text that was sent", None)
    late: tuple[tuple[str, float], ...] = setting(Several(Named("12345", Number(-20, 20))), "Late contacts", ())
    scale: tuple[float, ...] | None = setting(Numbers(2, 2, Number(-200, 200), apart=True), "Ends of the scale", None)
    count: int = setting(Whole(1, 100), "Characters", 1)
    share: float = setting(HALF, "Share", 20.0, key="share_percent", option=("-s", "--share"))
    unshift: bool = setting(Flag(), "Back to letters on a space", False)
    plot: Path | None = setting(File(), "Write the picture here", None, option="--out-plot")

    def check(self):
        if self.threshold is not None and sorted(self.threshold) != list(self.threshold):
            raise RefusedError("threshold", "the low level first", str(self.threshold))


def from_command(*words):
    """Return the settings of a command's words, or the words of its refusal."""
    kept = []

    @click.command()
    @click_options(Punching)
    def punch(settings):
        kept.append(settings)

    try:
        punch.main([str(word) for word in words], standalone_mode=False)
    except click.ClickException as refusal:
        return refusal.format_message()
    return kept[0]


levels = st.floats(-1e3, 1e3)
texts = st.text(string.ascii_letters + " ,;=@\r\n", min_size=1).filter(lambda t: t.strip() and not t.startswith("@"))
chosen = st.fixed_dictionaries(
    {},
    optional={
        "nominal": st.floats(10, 400),
        "idle": st.sampled_from(["auto", "high", "low"]),
        "threshold": st.lists(levels, min_size=1, max_size=2).map(lambda found: tuple(sorted(found))),
        "expect": texts,
        "late": st.lists(st.tuples(st.sampled_from("12345"), st.floats(-20, 20)), max_size=3).map(tuple),
        "scale": st.tuples(st.floats(-200, 200), st.floats(-200, 200)),
        "count": st.integers(1, 100),
        "share": st.floats(0, 50),
        "unshift": st.booleans(),
    },
)
OPTION = {"share": "-s"}
KEY = {"share": "share_percent"}


def words_of(values, made):
    out = []
    for name in values:
        value, option = getattr(made, name), OPTION.get(name, f"--{name}")
        if name == "unshift":
            out += [option] * value
        elif name == "late":
            out += [word for contact, ms in value for word in (option, f"{contact}={ms!r}")]
        elif name == "scale":
            out += [option, *map(repr, value)]
        else:
            out += [option, written(name, value)]
    return out


def written(name, value):
    part = next(each for each in form_parts() if each.name == name)
    return part.write(value)


def form_parts():
    from tapewright.furniture.settings import settings_in

    return settings_in(Punching)


@given(chosen)
def test_the_same_settings_come_from_command_form_keywords_and_book(values):
    made = from_keywords(Punching, **values)
    form = {KEY.get(name, name): written(name, getattr(made, name)) for name in values}
    assert from_form(Punching, form | {"another": "form's"}) == made
    assert from_command(*words_of(values, made)) == made
    assert from_steps(Punching, json.loads(json.dumps(to_steps(made), allow_nan=False))) == made
    assert from_keywords(Punching, **{name: getattr(made, name) for name in values}) == made


odd = st.one_of(
    st.tuples(st.just("nominal"), st.sampled_from(["fast", "9", "401", "nan", "inf", "48,000", "1,2,3", "4.5,6", ""])),
    st.tuples(st.just("idle"), st.sampled_from(["High", "none", "auto high"])),
    st.tuples(st.just("threshold"), st.sampled_from(["3,2", "1 2 3", "a", "1;b", "1;2;3", "2,000;3"])),
    st.tuples(st.just("count"), st.sampled_from(["0", "101", "1.5", "many", "-1"])),
    st.tuples(st.just("share"), st.sampled_from(["-0.1", "50.1", "half"])),
    st.tuples(st.just("late"), st.sampled_from(["6=1", "3=21", "3", "=1", "3=x"])),
)


@given(odd)
def test_what_one_door_refuses_all_refuse_in_the_same_words(one):
    name, text = one
    said = []
    if text:
        command = from_command(OPTION.get(name, f"--{name}"), text)
        said.append(re.sub(r"^Invalid value for .*?: ", "", command))
        with pytest.raises(InputError) as form:
            from_form(Punching, {KEY.get(name, name): text})
        said.append(str(form.value).split(": ", 1)[1])
    with pytest.raises(WrongUseError) as keyword:
        from_keywords(Punching, **{name: text})
    said.append(str(keyword.value).split(": ", 1)[1])
    with pytest.raises(InputError) as book:
        from_steps(Punching, {KEY.get(name, name): text or "x"})
    assert len(set(said)) == 1
    assert re.fullmatch(r"expected .+; found .+\.", said[0])
    assert str(book.value).startswith("the book, setting ")


@pytest.mark.parametrize(("text", "numbers"), [
    ("2", (2.0,)), ("2.5", (2.5,)), ("2,3", (2.0, 3.0)), ("2.0,3.0", (2.0, 3.0)), ("2 3", (2.0, 3.0)),
    ("2, 3", (2.0, 3.0)), ("2;3", (2.0, 3.0)), ("2,5;3,5", (2.5, 3.5)), ("2,5 3,5", (2.5, 3.5)),
    ("2,5; 3,5", (2.5, 3.5)), ("2,5;", (2.5,)), (" -1e-3\t4 ", (-0.001, 4.0)),
])  # fmt: skip
def test_the_one_rule_for_several_numbers(text, numbers):
    assert Numbers(1, 2).read(text) == numbers
    assert from_command("--threshold", text).threshold == numbers
    assert from_form(Punching, {"threshold": text}).threshold == numbers
    assert from_keywords(Punching, threshold=text).threshold == numbers


def test_a_rounded_speed_stands_for_the_exact_one():
    # 1000/22 baud: a unit of 22 ms, which the trade calls 45.45 (common practice, no source)
    for text in ("45.45", "45,45", "45"):
        assert from_form(Punching, {"nominal": text}).nominal == 1000 / 22
    assert from_keywords(Punching, nominal=45.45).nominal == 1000 / 22
    assert from_command("--nominal", "45.45").nominal == 1000 / 22


def test_an_end_of_line_is_that_of_a_machine_and_a_file_is_the_commands_alone(tmp_path):
    sent = tmp_path / "sent.txt"
    sent.write_text("RY\nRY\n", encoding="utf-8")
    assert from_command("--expect", f"@{sent}").expect == "RY\r\nRY\r\n"
    assert from_form(Punching, {"expect": "RY\r\nRY"}).expect == "RY\r\nRY"
    assert from_keywords(Punching, expect="RY\nRY").expect == "RY\r\nRY"
    assert from_form(Punching, {"expect": f"@{sent}"}).expect == f"@{sent}"


def test_a_form_names_no_file_of_this_computer():
    assert from_form(Punching, {"plot": "/etc/passwd"}).plot is None
    assert "plot" not in {field.key for field in form_fields(Punching)}


def test_the_book_keeps_what_is_set_and_no_folders():
    made = from_keywords(Punching, plot=Path("here") / "there.svg", late={"3": 1}, threshold="2,5;3,5")
    assert to_steps(made) == {
        "idle": "auto", "threshold": [2.5, 3.5], "late": [["3", 1.0]], "count": 1, "share_percent": 20.0,
        "plot": "there.svg",
    }  # fmt: skip


def test_what_an_older_version_kept_as_text_is_read():
    kept = {"nominal": "auto", "threshold": "2.0,3.0", "count": 3, "of_another_version": 1}
    assert from_steps(Punching, kept) == from_keywords(Punching, threshold=(2, 3), count=3)


def test_an_unknown_keyword_is_refused_with_those_there_are():
    with pytest.raises(WrongUseError, match="speed: expected one of the settings nominal, idle"):
        from_keywords(Punching, speed=50)


def test_help_and_form_say_the_same():
    told = CliRunner().invoke(click.command("punch")(click_options(Punching)(lambda settings: None)), ["--help"]).output
    for words in ("--idle [auto|high|low]", "Level of the line at rest.", "[default: auto]", "-s, --share NUMBER"):
        assert words in told
    fields = {field.key: field for field in form_fields(Punching, {"share_percent": "12,5"})}
    assert [fields[key].kind for key in ("nominal", "idle", "expect", "unshift")] == [
        "number", "choice", "long text", "flag",
    ]  # fmt: skip
    assert fields["share_percent"].value == "12,5"
    assert fields["nominal"].hint == "auto"
    assert fields["idle"].help == "Level of the line at rest."
    assert fields["idle"].choices == (("auto", "auto"), ("high", "high"), ("low", "low"))


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_number_is_written_so_that_anybody_reads_it_back(number):
    assert float(Number().write(number)) == number
    assert Number().read(Number().write(number)) == number


@given(st.one_of(st.text(), st.none(), st.booleans(), st.integers(), st.floats(), st.lists(st.integers())))
def test_no_kind_breaks_on_anything(anything):
    kinds: tuple[Kind, ...] = (
        Number(), Whole(), Numbers(), Choice("ab"), Text(), Flag(), File(), Named("ab", Number()), Several(Whole()),
    )  # fmt: skip
    for kind in kinds:
        try:
            value = kind.read(anything)
        except NotOfKindError:
            continue
        assert kind.read(value) == value
