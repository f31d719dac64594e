"""The line page without a browser: its document, its arrays, what it says; against the faults that were put in."""

import numpy as np
import pytest

from tapewright.bench.traces.wire import unpack

from .conftest import LATE_CONTACT, LATE_MS, TEXT, UNIT_MS


@pytest.fixture(scope="module")
def sender(live_bench):
    return live_bench[1]


@pytest.fixture(scope="module")
def caller(sender):
    return sender.client


@pytest.fixture(scope="module")
def empty(sender):
    """A machine without evidence."""
    return sender.machine("Heron without evidence")


def test_without_evidence_it_asks_for_some(caller, empty):
    page = caller.get(f"/machines/{empty}/line/newest")
    assert page.status_code == 200
    assert "drop it here" in page.text
    assert caller.get(f"/machines/{empty}/line/newest.json").json()["entry"] is None


def test_the_page_names_the_contact_and_what_is_in_the_twin(caller, line):
    page = caller.get(line).text
    assert f"contact {LATE_CONTACT} closes" in page
    twin = caller.get(line + ".json").json()
    assert twin["format"] == "tapewright/bench/line/1"
    [row] = [r for r in twin["rulers"]["rows"] if r["is_off"]]
    assert (row["contact"], row["side"], row["way"]) == (str(LATE_CONTACT), "closing", "late")
    assert row["late"]["value"] == pytest.approx(LATE_MS, abs=0.15)
    assert row["from"] < row["at"] < row["to"] <= 100
    assert "".join(run["text"] for run in twin["text"]).count(TEXT.split()[1]) == 2


def test_the_newest_is_the_one_just_sent(caller, line):
    assert caller.get(line.rsplit("/", 1)[0] + "/newest.json").json()["entry"]["key"] == line.rsplit("/", 1)[1]


def test_the_instants_lie_where_they_were_put(caller, line):
    head, arrays = unpack(caller.get(line + "/marks").content)
    assert head["unit_ms"] == pytest.approx(UNIT_MS, rel=2e-3)
    late = (arrays["contact"] == LATE_CONTACT) & (arrays["closing"] == 1)
    others = (arrays["contact"] <= 5) & ~late
    assert late.sum() > 20
    assert np.nanmedian(arrays["own_ms"][late]) == pytest.approx(LATE_MS, abs=0.15)
    assert abs(np.nanmedian(arrays["own_ms"][others])) < 0.1
    starts = arrays["start_s"][arrays["character"][late]]
    # an instant that is d late lies d after its place, k units after the start of its character
    place = arrays["at_s"][late] - starts - LATE_CONTACT * head["unit_ms"] / 1e3
    assert 1e3 * place == pytest.approx(arrays["late_ms"][late], abs=1e-3)


def test_the_trace_is_the_recording_itself(caller, line, late_capture):
    samples = np.frombuffer(late_capture.read_bytes()[44:], "<i2")
    head, whole = unpack(caller.get(line + "/trace?columns=300").content)
    assert head["end_s"] - head["begin_s"] == pytest.approx((samples.size - 1) / 48_000)
    assert (whole["low"].min(), whole["high"].max()) == (samples.min(), samples.max())
    assert not head["each"]
    head, close = unpack(caller.get(line + "/trace?from=1&to=1.01&columns=2000").content)
    first = round(close["times_s"][0] * 48_000)
    assert head["each"]
    assert close["low"].tolist() == samples[first : first + close["low"].size].tolist()


@pytest.mark.parametrize("query", ["from=x", "to=nan", "from=inf", "columns=1e999"])
def test_a_strange_window_is_refused(caller, line, query):
    assert caller.get(f"{line}/trace?{query}").status_code == 404


@pytest.mark.parametrize(
    "query", ["from=5&to=1", "from=-1e9&to=1e9", "columns=-4", "from=1e300&to=1e301", "columns=1e9"]
)
def test_an_empty_or_huge_window_is_answered(caller, line, query):
    answer = caller.get(f"{line}/trace?{query}")
    assert answer.status_code == 200
    assert unpack(answer.content)[1]["low"].size <= 2 * 8192


def test_evidence_of_another_machine_or_none_is_not_shown(caller, empty, line):
    other = empty
    assert caller.get(f"/machines/{other}/line/{line.rsplit('/', 1)[1]}").status_code == 404
    assert caller.get(f"/machines/{other}/line/newest/marks").status_code == 404
    assert caller.get(f"/machines/{other}/line/{'0' * 64}").status_code == 404


def test_a_list_of_edges_is_drawn_too(caller, sender, tmp_path):
    from tapewright.terminal.run import run

    path = tmp_path / "edges.csv"
    assert run(["line", "compose", TEXT, "--as", "edges", "-o", str(path)]) == 0
    entry = sender.send(machine := sender.machine("Heron with edges"), path)
    base = f"/machines/{machine}/line/{entry.key}"
    head, arrays = unpack(caller.get(base + "/trace?from=0.2&to=0.6&columns=900").content)
    assert head["each"]
    assert set(arrays["low"].tolist()) == {0, 1}
    assert caller.get(base).status_code == 200


def test_a_recording_without_characters_says_so(caller, sender, tmp_path):
    path = tmp_path / "quiet.npy"
    np.save(path, np.zeros(48_000, np.uint8))
    entry = sender.send(machine := sender.machine("Heron, silent"), path, rate="48000")
    base = f"/machines/{machine}/line/{entry.key}"
    assert caller.get(base).status_code == 200
    assert unpack(caller.get(base + "/trace").content)[1]["low"].max() == 0
    assert unpack(caller.get(base + "/marks").content)[1]["at_s"].size == 0
