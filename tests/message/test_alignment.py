"""Alignment against a general sequence aligner (biopython's PairwiseAligner), and what a mechanic expects of it."""

import time
from itertools import pairwise

import numpy as np
import pytest
from Bio.Align import PairwiseAligner, substitution_matrices
from hypothesis import given
from hypothesis import strategies as st

from tapewright.message.alignment import align
from tapewright.message.cheapest_way import CHANGED, FIRST_OF_RUN, NEXT_OF_RUN

CODES = [format(n, "05b") for n in range(32)]
texts = st.lists(st.sampled_from(CODES), max_size=24)
narrow_texts = st.lists(st.sampled_from(["01010", "10101", "01011", "11111"]), max_size=30)


def witness() -> PairwiseAligner:
    """The same costs, given to a general aligner as negative scores."""
    letters = "".join(chr(65 + n) for n in range(32))
    scores = np.array([[0 if a == b else 1 - CHANGED - bin(a ^ b).count("1") for b in range(32)] for a in range(32)])
    aligner = PairwiseAligner(mode="global")
    aligner.substitution_matrix = substitution_matrices.Array(letters, dims=2, data=scores.astype(float))
    aligner.open_gap_score, aligner.extend_gap_score = -FIRST_OF_RUN, -NEXT_OF_RUN
    return aligner


def as_letters(codes):
    return "".join(chr(65 + int(code, 2)) for code in codes)


@given(st.one_of(st.tuples(texts, texts), st.tuples(narrow_texts, narrow_texts)))
def test_cost_is_that_of_a_general_aligner(pair):
    sent, received = pair
    ours = align(sent, received)
    if sent and received:
        assert ours.cost == -witness().score(as_letters(sent), as_letters(received))
    assert ours.proven


@given(texts, texts)
def test_every_code_stands_in_exactly_one_column(sent, received):
    pairs = align(sent, received).pairs
    assert [p.sent for p in pairs if p.sent is not None] == sent
    assert [p.received for p in pairs if p.received is not None] == received
    assert [p.sent_index for p in pairs if p.sent_index is not None] == list(range(len(sent)))
    assert [p.received_index for p in pairs if p.received_index is not None] == list(range(len(received)))


@given(texts, texts)
def test_the_columns_cost_what_the_alignment_says(sent, received):
    ours = align(sent, received)
    cost, before = 0, None
    for pair in ours.pairs:
        kind = "loss" if pair.received is None else "extra" if pair.sent is None else "pair"
        if kind == "pair":
            changed = sum(a != b for a, b in zip(pair.sent, pair.received, strict=True))
            cost += CHANGED + changed - 1 if changed else 0
        else:
            cost += NEXT_OF_RUN if kind == before else FIRST_OF_RUN
        before = kind
    assert cost == ours.cost


def test_one_lost_code_is_one_loss_and_nothing_else():
    sent = ["01010", "10101"] * 50
    received = sent[:40] + sent[41:]
    wrong = [p for p in align(sent, received).pairs if not p.right]
    assert len(wrong) == 1
    assert wrong[0].received is None


def test_an_extra_stands_behind_the_code_it_repeats():
    pairs = align(["11000", "10011"], ["11000", "11000", "10011"]).pairs
    assert [p.sent for p in pairs] == ["11000", None, "10011"]


def test_the_last_extra_stands_behind_the_code_it_repeats_too():
    sent = ["11000", "10011", "01110", "10010", "10000"]
    received = [*sent[:3], "01110", *sent[3:]]
    assert [p.sent for p in align(sent, received).pairs] == [*sent[:3], None, *sent[3:]]
    lost = align(received, sent).pairs
    assert [p.received for p in lost] == [*sent[:3], None, *sent[3:]]


@given(narrow_texts, narrow_texts)
def test_no_gap_could_stand_later_at_the_same_cost(sent, received):
    pairs = align(sent, received).pairs
    for first, second in pairwise(pairs):
        if first.sent is None and second.sent is not None and second.right:
            # alone in its run or not, its first code must not equal the code sent next
            run_begin = first.received_index
            while any(p.sent is None and p.received_index == run_begin - 1 for p in pairs):
                run_begin -= 1
            assert received[run_begin] != second.sent


def test_a_long_run_of_losses_is_kept_together():
    generator = np.random.default_rng(5)
    sent = [CODES[n] for n in generator.integers(0, 32, 3000)]
    pairs = align(sent, sent[:1000] + sent[1700:]).pairs
    lost = [p.sent_index for p in pairs if p.received is None]
    # a code or two at the ends may be the same on both sides of the cut
    assert len(lost) == 700
    assert lost[-1] - lost[0] == 699
    assert 1000 <= lost[0] <= 1004


def test_long_texts_are_quick_and_the_truth_is_found():
    generator = np.random.default_rng(6)
    sent = [CODES[n] for n in generator.integers(0, 32, 6000)]
    lost = set(generator.choice(6000, 60, replace=False).tolist())
    received = [code for n, code in enumerate(sent) if n not in lost]
    started = time.process_time()
    ours = align(sent, received)
    assert time.process_time() - started < 5
    assert sum(p.received is None for p in ours.pairs) == 60
    assert all(p.right for p in ours.pairs if p.received is not None)


@pytest.mark.parametrize("bad", ["1100", "11002", "", "abcde"])
def test_what_is_not_a_code_is_refused(bad):
    with pytest.raises(ValueError, match="a code must be"):
        align(["11000"], [bad])


def test_codes_of_other_lengths_align_too():
    assert align(["1100000", "0011111"], ["0011111"]).cost == FIRST_OF_RUN
