"""A soak counts what was put in, whatever the place it begins at, and remembers it over a restart."""

import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as budget
from hypothesis import strategies as st
from msgspec.structs import replace

from tapewright.alphabets import ITA2, encode
from tapewright.errors import InputError
from tapewright.line.live.soak import MOST_BINS, PIECE, Soak, SoakState
from tapewright.line.live.soak_document import each_round, soak_document
from tapewright.line.live.soak_files import FORMAT, read_state, write_state
from tapewright.line.live.soak_report import soak_text
from tapewright.line.live.soak_sides import MOST_SIDES, between
from tapewright.number import State

TEXT = encode("THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG ", ITA2)


def received(count, begin, every, rng):
    """Codes of the round text with one error in each `every`, of kinds in turn; and how many of each kind."""
    out, put = [], {"changed": 0, "lost": 0, "extra": 0}
    for i in range(count):
        code = TEXT[(begin + i) % len(TEXT)]
        if every and i % every == every // 2:
            kind = list(put)[i // every % 3]
            put[kind] += 1
            if kind == "changed":
                k = int(rng.integers(5))
                out.append(code[:k] + ("0" if code[k] == "1" else "1") + code[k + 1 :])
            elif kind == "extra":
                out += [code, "00000"]
        else:
            out.append(code)
    return out, put


@pytest.mark.parametrize("begin", [0, 7, 43])
@pytest.mark.parametrize("every", [0, 30, 101])
def test_errors_put_in_are_errors_found(begin, every):
    codes, put = received(3000, begin, every, np.random.default_rng(begin))
    soak = Soak(TEXT)
    for i, code in enumerate(codes):
        soak.character(code, 22.0, i * 0.163)
    soak.settle_all()
    state = soak.state
    assert {"changed": state.changed, "lost": state.lost, "extra": state.extra} == put
    assert state.out_of_step == 0
    # all is counted but the few that wait
    assert 3000 + put["extra"] - state.characters <= 2 * PIECE


def test_the_bound_is_that_of_clopper_and_pearson():
    from statsmodels.stats.proportion import proportion_confint  # an independent implementation

    state = SoakState(characters=5000, changed=3, lost=1)
    # two-sided at 90 % has the same upper end as one-sided at 95 %
    assert state.rate.upper_95 == pytest.approx(proportion_confint(4, 5000, alpha=0.10, method="beta")[1], rel=1e-9)


def test_memory_stays_the_same_over_a_thousand_hours():
    soak = Soak(TEXT)
    for hour in range(1000):
        soak.character(TEXT[hour % len(TEXT)], 22.0 + 0.01 * hour / 1000, hour * 3600.0)
        assert len(soak.state.waiting) <= PIECE
        assert len(soak.state.bins) <= MOST_BINS
    assert sum(b.n for b in soak.state.bins) == 1000
    assert soak.state.bins[0].mean < soak.state.bins[-1].mean


def test_drift_put_in_is_drift_found():
    rng, soak = np.random.default_rng(4), Soak(TEXT)
    for i in range(4000):
        at_s = i * 0.163
        soak.character(TEXT[i % len(TEXT)], 22.0 * (1 + 0.002 * at_s / 652) + rng.normal(0, 0.02), at_s)
    value, u = soak.state.drift_percent()
    # from the middle of the first minute to the middle of the last full one: some 0.18 %, slower
    assert value == pytest.approx(-0.18, abs=2 * u + 0.02)


def soaked(soak, codes, unit_ms, from_s, rng):
    for i, code in enumerate(codes):
        at_s = from_s + i * 0.163
        soak.character(code, unit_ms + rng.normal(0, 0.02), at_s)
        soak.state.seconds = at_s


def test_an_adjustment_parts_errors_and_speed():
    rng, soak = np.random.default_rng(8), Soak(TEXT)
    before, put = received(2000, 0, 40, rng)
    soaked(soak, before, 22.0, 0.0, rng)
    soak.turning()
    # what comes while the screw is being turned is junk, and belongs to neither side
    soaked(soak, ["".join(rng.choice(["0", "1"], 5)) for _ in range(30)], 25.0, 400.0, rng)
    assert soak.mark("screw B a quarter in")
    after, _ = received(2000, 11, 0, rng)
    soaked(soak, after, 22.0 * 0.995, 420.0, rng)
    soak.settle_all()
    [was], now = soak.state.earlier, soak.state.side()
    assert {"changed": was.changed, "lost": was.lost, "extra": was.extra} == put
    assert (now.wrong, now.out_of_step, now.label) == (0, 0, "screw B a quarter in")
    assert 2000 - PIECE <= now.characters <= 2000
    did = between(was, now)
    assert did.rates_differ
    # 0.5 % shorter units are 100 (1 / 0.995 - 1) per cent faster
    assert did.faster_percent == pytest.approx(0.5025, abs=3 * did.u_percent)
    assert did.u_percent < 0.01


def test_a_mark_without_a_hand_before_it_gives_what_waits_to_neither():
    rng, soak = np.random.default_rng(9), Soak(TEXT)
    soaked(soak, (TEXT * 5)[:PIECE], 22.0, 0.0, rng)
    settled = soak.state.characters
    soaked(soak, ["11011"] * 40, 22.0, 20.0, rng)
    soak.mark("x")
    assert (soak.state.earlier[0].characters, soak.state.earlier[0].wrong) == (settled, 0)
    soak.turning()
    soak.turned_nothing()
    soaked(soak, TEXT * 3, 22.0, 30.0, rng)
    soak.settle_all()
    assert soak.state.wrong == 0


def test_whether_two_rates_differ_is_fishers_exact_test():
    """R. A. Fisher's tea tasting (The Design of Experiments, 1935, from memory): 3 of 4 against 1 of 4, p = 34/70."""
    def side(wrong, characters):
        return replace(SoakState(characters=characters, changed=wrong).side(), unit_ms=-1.0)

    did = between(side(1, 4), side(3, 4))
    assert did.p == pytest.approx(34 / 70)
    assert not did.rates_differ
    assert did.faster_percent is None
    assert between(side(0, 0), side(1, 4)).p is None


def test_a_soak_is_parted_so_often_and_no_more():
    soak = Soak(TEXT)
    assert all(soak.mark(str(n)) for n in range(MOST_SIDES - 1))
    assert not soak.mark("one too many")
    assert len(soak.state.earlier) == MOST_SIDES - 1


def run_through(codes):
    soak = Soak(TEXT)
    for code in codes:
        soak.character(code, None, 0.0)
    soak.settle_all()
    return soak.state


def junk(n, rng):
    return ["".join(code) for code in rng.choice(["0", "1"], (n, 5))]


@pytest.mark.parametrize("length", [60, 96, 150, 400])
@pytest.mark.parametrize("after", [0, 30, 47])
def test_a_stretch_out_of_step_counts_whole(length, after):
    rng = np.random.default_rng(length + after)
    state = run_through([*TEXT * 60, *TEXT[:after], *junk(length, rng), *TEXT[5:], *TEXT * 60])
    assert state.out_of_step == 1
    # by chance one in 32 of the junk is what was expected there, and an end of it may look right
    assert 0.85 * length <= state.wrong <= 1.2 * length + 12
    assert state.longest_stray >= 0.5 * length
    assert state.side().in_bursts
    assert abs(state.characters - (120 * len(TEXT) + after + length)) <= 2 * PIECE


def test_a_machine_that_garbles_most_of_it_is_told_so():
    rng = np.random.default_rng(3)
    state = run_through([code if rng.random() < 0.3 else junk(1, rng)[0] for code in TEXT * 40])
    assert state.wrong / state.characters > 0.6


@given(st.integers(0, 2**32 - 1), st.integers(0, 6), st.integers(1, 300))
@budget(max_examples=60, deadline=None)
def test_no_history_of_bursts_is_flattered(seed, bursts, length):
    """The truth is what was put in: the bounds never fall below it, and nothing is thrown out of the count."""
    rng = np.random.default_rng(seed)
    codes, put = [], 0
    for _ in range(bursts):
        codes += [*TEXT * int(rng.integers(4, 30)), *junk(length, rng), *TEXT[int(rng.integers(len(TEXT))) :]]
        put += length
    codes += TEXT * 20
    state = run_through(codes)
    counted = state.characters + len(state.waiting)
    assert counted >= 0.97 * len(codes) - 4
    # one in 32 is right by chance, and the text is looked for at the place where most of it is right
    assert state.wrong >= 0.8 * put * (1 - 1 / 32) - 3 * bursts
    if put / len(codes) > 0.02:
        assert state.rate.upper_95 > 0.8 * put / len(codes)


def test_blocks_are_counted_as_g821_counts_errored_seconds():
    """ITU-T G.821 (words from memory): a second with one or more errors is one errored second, however many."""
    state = SoakState(characters=1000, changed=30, blocks=10, errored_blocks=1)
    assert state.side().in_bursts
    from scipy.stats import beta  # Clopper and Pearson by the beta distribution, an implementation of others

    assert state.side().block_rate.upper_95 == pytest.approx(beta.ppf(0.95, 2, 9))
    assert not SoakState(characters=1000, changed=9, blocks=10, errored_blocks=7).side().in_bursts


def test_the_bound_for_bursts_is_that_of_hoeffding():
    """Theorem 1 of the paper, solved by general tools: relative entropy and a root finder of scipy."""
    from scipy.optimize import brentq
    from scipy.special import rel_entr

    for wrong, n, longest in ((0, 9600, 0), (60, 9600, 60), (964, 9600, 96), (3, 40_000, 0)):
        side = SoakState(characters=n, stray=wrong, longest_stray=longest).side()
        blocks, q = n // max(100, 4 * longest), wrong / n
        ruled_out = lambda p, q=q, m=blocks: m * (rel_entr(q, p) + rel_entr(1 - q, 1 - p)) - np.log(20)  # noqa: E731
        p = brentq(ruled_out, q or 1e-12, 1 - 1e-12)
        assert side.burst_rate_upper_95 == pytest.approx(p, rel=1e-6)


def test_the_time_between_events_has_garwoods_interval():
    from scipy.stats import chi2

    state = SoakState(characters=9000, changed=7, events=5, seconds=1500.0)
    mean, low, high = state.side().minutes_between_events()
    assert (mean, low) == (pytest.approx(5.0), pytest.approx(2 * 25 / chi2.ppf(0.975, 12)))
    assert high == pytest.approx(2 * 25 / chi2.ppf(0.025, 10))


def test_bounds_hold_in_ten_thousand_histories():
    """Errors one by one and in bursts of any length: a bound that may be claimed is too low in at most 5 % of them."""
    rng, n, false, false_events, histories = np.random.default_rng(11), 20_000, 0, 0, 10_000
    for _ in range(histories):
        single, bursts = 10 ** rng.uniform(-4.5, -2), 10 ** rng.uniform(-5, -3)
        longest = int(rng.integers(2, 400))
        came, lengths = rng.poisson(single * n), rng.integers(1, longest + 1, rng.poisson(bursts * n))
        truth = single + bursts * (longest + 1) / 2
        side = SoakState(
            characters=n, changed=int(came), stray=int(min(lengths.sum(), n - came)), events=int(came + lengths.size),
            longest_stray=int(lengths.max(initial=0)),
        ).side()  # fmt: skip
        false += side.burst_rate_upper_95 < truth
        false_events += side.event_rate.upper_95 < single + bursts
    assert false <= 0.05 * histories
    assert false_events <= 0.06 * histories


def test_what_comes_each_round_is_named():
    ends, soak = encode("\r\n", ITA2), Soak(TEXT)
    for turn in range(12):
        for code in [*TEXT[:-1], "00000" if turn != 3 else TEXT[-1], *ends]:
            soak.character(code, None, 0.0)
    soak.settle_all()
    found = {(each.character, each.kind): each for each in each_round(soak.state)}
    assert set(found) == {(1, "extra"), (len(TEXT), "wrong")}
    assert found[1, "extra"].codes == tuple(ends)
    assert 10 <= found[1, "extra"].rounds <= found[1, "extra"].of_rounds <= 13
    told = soak_text(soak_document(soak.state), ITA2)
    assert "2 extra codes (CR LF) at the end of each round" in told
    clean = run_through(TEXT * 12)
    assert not each_round(clean)


@pytest.mark.parametrize(("state", "claim", "answer"), [
    (SoakState(characters=3000), 1e-3, State.WITHIN), (SoakState(characters=2900), 1e-3, State.NOT_SHOWN),
    (SoakState(characters=3000, changed=30, events=30), 1e-3, State.OUTSIDE), (SoakState(), 1e-3, State.NOT_SHOWN),
    # 60 wrong in one burst: one event shows neither that so many come nor that so few do
    (SoakState(characters=9600, stray=60, out_of_step=1, longest_stray=60, events=1, blocks=96, errored_blocks=1), 1e-3,
     State.NOT_SHOWN),
])  # fmt: skip
def test_a_claim_is_shown_or_not(state, claim, answer):
    assert soak_document(state, claim).verdicts[0].state is answer


def test_a_state_comes_back(tmp_path):
    codes, _ = received(700, 3, 50, np.random.default_rng(6))
    soak = Soak(TEXT)
    for i, code in enumerate(codes):
        soak.character(code, 22.0, i * 0.2)
    soak.mark("screw B")
    path = tmp_path / "petrel.soak"
    write_state(path, soak.state, TEXT)
    assert read_state(path) == (soak.state, TEXT)
    assert [p.name for p in tmp_path.iterdir()] == ["petrel.soak"]


@given(junk=st.one_of(st.binary(max_size=60), st.recursive(
    st.none() | st.integers() | st.text(max_size=5) | st.floats(allow_nan=False),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(["text", "state", "place"]), inner),
    max_leaves=6,
)))  # fmt: skip
@budget(max_examples=40, deadline=None)
def test_any_bytes_are_a_clear_no(junk, tmp_path_factory):
    path = tmp_path_factory.mktemp("soak") / "x.soak"
    if isinstance(junk, bytes):
        path.write_bytes(junk)
    else:
        path.write_text(json.dumps({"format": FORMAT, "text": ["00000"], "state": junk}))
    with pytest.raises(InputError, match=r"x\.soak"):
        read_state(path)


@pytest.mark.parametrize("damage", [
    {"characters": -1}, {"changed": 9, "characters": 3}, {"label": 5}, {"unit_ms": "fast"}, {"drift_percent": "up"},
])  # fmt: skip
def test_a_damaged_side_is_a_clear_no(damage, tmp_path):
    soak = Soak(TEXT)
    soak.mark("screw B")
    path = tmp_path / "x.soak"
    write_state(path, soak.state, TEXT)
    whole = json.loads(path.read_text())
    whole["state"]["earlier"][0].update(damage)
    path.write_text(json.dumps(whole))
    with pytest.raises(InputError, match=r"x\.soak"):
        read_state(path)
