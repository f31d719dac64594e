"""Random settings of a line and a coil, said by the form and by the command: the same record, or refused at both."""

import click
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from tapewright.bench.measuring import coil_settings, line_settings
from tapewright.coil.settings import CurrentSettings
from tapewright.errors import InputError
from tapewright.furniture.options import click_options
from tapewright.furniture.settings import to_steps
from tapewright.line.settings import ReadSettings

OPTIONS = {
    "nominal": st.sampled_from(["auto", "45.45", "45,45", "50", "9", "401", "abc", "75.0"]),
    "threshold": st.sampled_from(["auto", "2.3", "2,3", "2.0,3.0", "x", "1,2,3", "nan"]),
    "rate": st.sampled_from(["1000", "0", "1e13", "48000,5", "fast"]),
    "idle": st.sampled_from(["auto", "high", "low", "up"]),
    "alphabet": st.sampled_from(["ita2", "us", "morse"]),
    "clock_ppm": st.sampled_from(["0", "20", "-1", "2e5"]),
    "window": st.sampled_from(["0.2", "0", "0.99", "1"]),
    "channel": st.sampled_from(["D0", "2"]),
    "expect": st.sampled_from(["RYRYRY", "THE QUICK\nFOX"]),
}

COIL = {
    "shunt": st.sampled_from(["1", "0,5", "0", "-1", "1e7"]),
    "supply": st.sampled_from(["48", "120,5", "0", "x"]),
    "series_ohm": st.sampled_from(["37", "0", "-3"]),
    "scale": st.sampled_from(["1", "1000", "0"]),
    "rate": st.sampled_from(["50000", "0"]),
    "channel": st.sampled_from(["1", "CH2"]),
}


def by_command(kind, words):
    kept = []

    @click.command()
    @click_options(kind)
    def read(settings):
        kept.append(settings)

    done = CliRunner().invoke(read, words)
    return to_steps(kept[0]) if done.exit_code == 0 else None


@settings(max_examples=60, deadline=None)
@given(st.fixed_dictionaries({}, optional=OPTIONS), st.booleans())
def test_the_form_and_the_command_take_and_refuse_the_same(said, unshift):
    words = [f"--{name.replace('_', '-')}={text}" for name, text in said.items()] + ["--unshift-on-space"] * unshift
    try:
        by_form = line_settings(said | ({"unshift_on_space": "yes"} if unshift else {}))
    except InputError:
        by_form = None
    assert by_form == by_command(ReadSettings, words)


@settings(max_examples=40, deadline=None)
@given(st.fixed_dictionaries({}, optional=COIL))
def test_so_do_those_of_a_coil(said):
    try:
        by_form = coil_settings(said)
    except InputError:
        by_form = None
    words = [f"--{name.replace('_', '-')}={text}" for name, text in said.items()]
    assert by_form == by_command(CurrentSettings, words)


def test_two_and_three_are_two_levels_on_the_page_too():
    assert line_settings({"threshold": "2,3"})["threshold"] == line_settings({"threshold": "2.0, 3.0"})["threshold"]
    assert len(line_settings({"threshold": "2,3"})["threshold"]) == 2
