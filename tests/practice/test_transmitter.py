"""The practice transmitter: every fault moves exactly the instants it should, and no others.

Signs from FED-STD-1037C by way of its definitions: marking bias makes space-to-mark instants early, marking end
distortion makes mark-to-space instants late, late is positive.
"""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from practice.naive import instants_after_start, read_codes
from tapewright.alphabets import ITA2, encode
from tapewright.practice.code_bars import CodeBar
from tapewright.practice.contacts import Contact
from tapewright.practice.keying import Keying
from tapewright.practice.line_signal import marks_of
from tapewright.practice.machines import HERON, MACHINES, PETREL, at_unit
from tapewright.practice.motor import Motor
from tapewright.practice.transmitter import Transmitter, send

T = 0.022
FOX = encode("THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG 1234567890", ITA2)
CODES = [format(n, "05b") for n in range(32)]
IDEAL = Transmitter(Motor(T), own_contacts=False)


def deviations(machine, codes=FOX, unit_s=T, **keying):
    line = send(codes, machine, np.random.default_rng(1), Keying(**keying)).line
    return instants_after_start(line.times_s, line.mark_after, unit_s)


def closings_and_openings(found):
    closing = np.array([d for _, b, up, d in found if up])
    opening = np.array([d for _, b, up, d in found if not up and b > 0])
    return closing, opening


@given(st.lists(st.sampled_from(CODES), min_size=1, max_size=12), st.sampled_from([0.0, 0.08]))
def test_an_ideal_sender_says_what_was_keyed(codes, gap_s):
    sent = send(codes, IDEAL, np.random.default_rng(0), Keying(gap_s=gap_s))
    line = sent.line
    assert read_codes(line.times_s, line.mark_after, line.starts_mark, T) == codes
    assert [d for *_, d in instants_after_start(line.times_s, line.mark_after, T)] == pytest.approx(
        [0.0] * line.times_s.size, abs=1e-9
    )


def test_transitions_per_character_are_those_of_the_published_table():
    # five-unit table, last column: changes in start, elements, stop (derived from the code alone)
    for code, changes in {"01010": 6, "10101": 6, "11111": 2, "00000": 2, "11000": 4, "10110": 6, "01111": 2}.items():
        assert send([code], IDEAL, np.random.default_rng(0)).line.times_s.size == changes


@pytest.mark.parametrize("bias", [0.2, 0.05, -0.09, -0.3])
def test_bias_moves_only_space_to_mark(bias):
    closing, opening = closings_and_openings(deviations(replace(IDEAL, bias_s=bias * T)))
    assert closing == pytest.approx(np.full(closing.size, -bias), abs=1e-9)
    assert opening == pytest.approx(np.zeros(opening.size), abs=1e-9)


@pytest.mark.parametrize("end", [0.1, -0.2])
def test_end_distortion_moves_only_mark_to_space(end):
    closing, opening = closings_and_openings(deviations(replace(IDEAL, end_s=end * T)))
    assert closing == pytest.approx(np.zeros(closing.size), abs=1e-9)
    assert opening == pytest.approx(np.full(opening.size, end), abs=1e-9)


def test_two_milliseconds_of_twenty_two_are_nine_per_cent_spacing_bias():
    # Army subcourse SS0031: "9 percent spacing bias", mark shortened by what the space gained
    closing, _ = closings_and_openings(deviations(replace(IDEAL, bias_s=-2e-3)))
    assert 100 * closing.mean() == pytest.approx(9, abs=0.2)


def test_speed_error_grows_to_four_and_a_half_per_cent():
    # derived: 0.75 % slow gives 6 x 0.75 = 4.5 % at the sixth boundary, and nothing against the real unit
    slow = replace(IDEAL, motor=Motor(T * 1.0075))
    assert max(abs(d) for *_, d in deviations(slow)) == pytest.approx(0.045, abs=5e-4)
    assert max(abs(d) for *_, d in deviations(slow, unit_s=T * 1.0075)) < 1e-9


def test_a_character_lasts_what_the_handbook_says():
    # Army subcourse SS0330: 6 x 22 + 31 = 163 ms a character, 61.3 words a minute, 368 operations a minute
    starts = send(FOX, replace(IDEAL, stop_units=31 / 22), np.random.default_rng(0)).start_s
    character_s = np.diff(starts).mean()
    assert 1e3 * character_s == pytest.approx(163, abs=1e-6)
    assert 60 / (6 * character_s) == pytest.approx(61.3, abs=0.1)
    assert 60 / character_s == pytest.approx(368, abs=0.5)


@pytest.mark.parametrize("number", [1, 2, 3, 4, 5])
@pytest.mark.parametrize("side", ["closing_late_s", "opening_late_s"])
def test_a_late_contact_moves_its_own_boundary_only(number, side):
    contacts = [Contact()] * 5
    contacts[number - 1] = Contact(**{side: 1.5e-3})
    found = deviations(replace(IDEAL, contacts=tuple(contacts)))
    for _, boundary, closing, d in found:
        hit = (boundary, closing) == ((number, True) if side == "closing_late_s" else (number + 1, False))
        assert d == pytest.approx(1.5e-3 / T if hit else 0.0, abs=1e-9)


def test_a_late_stop_contact_moves_the_reference_of_all_others():
    found = deviations(replace(IDEAL, stop=Contact(opening_late_s=1e-3)))
    assert [d for _, b, _, d in found if b] == pytest.approx([-1e-3 / T] * sum(b > 0 for _, b, *_ in found), abs=1e-9)
    late_stop = deviations(replace(IDEAL, stop=Contact(closing_late_s=1e-3)))
    for _, boundary, closing, d in late_stop:
        assert d == pytest.approx(1e-3 / T if (boundary, closing) == (6, True) else 0.0, abs=1e-9)


def test_own_contacts_split_a_mark_when_one_opens_before_the_next_closes():
    contacts = (Contact(), Contact(), Contact(closing_late_s=1.5e-3), Contact(), Contact())
    split = send(["01100"], Transmitter(Motor(T), contacts=contacts), np.random.default_rng(0)).line
    gap = np.diff(split.times_s)[2]
    assert split.times_s.size == 6
    assert gap == pytest.approx(1.5e-3, abs=1e-9)
    joined = send(["01100"], Transmitter(Motor(T), contacts=contacts, own_contacts=False), np.random.default_rng(0))
    assert joined.line.times_s.size == 4


def test_overlapping_contacts_hide_what_the_second_one_does():
    contacts = tuple(Contact(opening_late_s=2e-3, bounce_s=1e-3) for _ in range(5))
    machine = Transmitter(Motor(T), contacts=contacts, stop=Contact(opening_late_s=2e-3))
    line = send(["11111"], machine, np.random.default_rng(3)).line
    # only contact 1 strikes on an open line and shows its bounce; 2 to 5 and the stop close on a closed line
    assert line.times_s.size == 2 + 2 * 3


def test_bounce_lasts_from_first_to_last_make_and_gets_shorter():
    contacts = tuple(Contact(bounce_s=2e-3, bounces=4) for _ in range(5))
    sent = send(["10101"] * 50, Transmitter(Motor(T), contacts=contacts), np.random.default_rng(2))
    made = sent.instants
    rising = sent.line.times_s[sent.line.mark_after]
    for time, bounce in zip(made.time_s[made.closing], made.bounce_s[made.closing], strict=True):
        burst = rising[(rising > time - 1e-9) & (rising < time + bounce + 1e-9)]
        assert burst[0] == pytest.approx(time, abs=1e-12)
        assert burst[-1] - burst[0] == pytest.approx(bounce, abs=1e-12)
        if bounce:
            assert burst.size == 5
            assert np.diff(burst)[-1] < np.diff(burst)[0]
    struck = made.bounce_s[made.closing & (made.boundary < 6)]
    assert struck.mean() == pytest.approx(2e-3, rel=0.1)


def test_dropouts_come_as_often_and_last_as_long_as_asked():
    contacts = (Contact(dropouts_per_s=20, dropout_s=1e-3),) * 5
    line = send(["11111"] * 400, Transmitter(Motor(T), contacts=contacts), np.random.default_rng(4)).line
    gaps = np.diff(marks_of(line).ravel())[1::2]
    short = gaps[gaps < 0.9 * T]
    assert short.size == pytest.approx(20 * 400 * 5 * T, rel=0.2)
    assert short.mean() == pytest.approx(1e-3, rel=0.25)


def test_scatter_moves_all_but_the_start_and_has_the_size_asked():
    found = deviations(replace(IDEAL, scatter_s=0.02 * T), codes=FOX * 20)
    spread = np.array([d for _, b, _, d in found if b])
    assert spread.std() == pytest.approx(0.02, rel=0.05)
    starts = send(FOX * 20, replace(IDEAL, scatter_s=0.02 * T), np.random.default_rng(1)).start_s
    assert np.diff(starts) == pytest.approx(np.full(starts.size - 1, 7.5 * T), abs=1e-9)


def test_start_scatter_moves_the_start_alone():
    sent = send(FOX * 20, replace(IDEAL, start_scatter_s=0.5e-3), np.random.default_rng(1))
    assert np.diff(sent.start_s).std() == pytest.approx(0.5e-3 * np.sqrt(2), rel=0.1)


def test_hunting_shows_in_the_units_over_time():
    machine = replace(IDEAL, motor=Motor(T, hunt=0.01, hunt_hz=0.5))
    sent = send(FOX * 4, machine, np.random.default_rng(1))
    assert sent.unit_s.max() / T == pytest.approx(1.01, abs=0.001)
    assert sent.unit_s.min() / T == pytest.approx(0.99, abs=0.001)


def test_hand_keying_leaves_rests_of_the_size_asked():
    sent = send(FOX * 10, IDEAL, np.random.default_rng(1), Keying(gap_s=0.2, gap_spread=0.5))
    rests = np.diff(sent.start_s) - 7.5 * T
    assert rests.min() >= -1e-12
    assert rests.mean() == pytest.approx(0.2, rel=0.1)
    assert rests.std() == pytest.approx(0.1, rel=0.2)


def test_first_character_can_be_cut_off():
    line = send(["10101"] * 3, IDEAL, np.random.default_rng(1), Keying(lead_s=0.1, begin_s=0.1 + 2.5 * T)).line
    assert not line.starts_mark
    assert line.times_s[0] == pytest.approx(0.1 + 3 * T)
    assert line.begin_s == 0.1 + 2.5 * T


def test_glitches_before_the_first_start_and_a_broken_line():
    keying = Keying(lead_s=1.0, glitches=5, breaks=((1.3, 1.5),))
    line = send(["11111"] * 20, IDEAL, np.random.default_rng(1), keying).line
    assert 2 <= (line.times_s < 1.0).sum() <= 10
    assert not ((line.times_s > 1.3) & (line.times_s < 1.5)).any()
    at = np.searchsorted(line.times_s, 1.4) - 1
    assert not line.mark_after[at]


def test_code_bars_stick_miss_and_leave_over():
    bars = (CodeBar(stuck="mark"), CodeBar(stuck="space"), CodeBar(left_over=1.0), CodeBar(misses_mark=0.5), CodeBar())
    sent = send(["01110", "00010"] * 200, replace(IDEAL, bars=bars), np.random.default_rng(1)).sent
    assert {code[0] for code in sent} == {"1"}
    assert {code[1] for code in sent} == {"0"}
    assert {code[2] for code in sent} == {"1"}
    assert sum(code[3] == "1" for code in sent) == pytest.approx(200, abs=40)
    assert {code[4] for code in sent} == {"0"}


def test_other_numbers_of_elements():
    machine = Transmitter(Motor(1 / 110), contacts=(Contact(),) * 8, stop_units=2.0, own_contacts=False)
    line = send(["10100101"], machine, np.random.default_rng(0)).line
    assert read_codes(line.times_s, line.mark_after, line.starts_mark, 1 / 110, elements=8) == ["10100101"]
    with pytest.raises(ValueError, match="8 elements"):
        send(["11000"], machine, np.random.default_rng(0))


def test_the_same_seed_gives_the_same_line():
    first, second = (send(FOX, PETREL, np.random.default_rng(9)).line for _ in range(2))
    assert (first.times_s == second.times_s).all()


def test_nothing_to_send_is_a_line_at_rest():
    line = send([], IDEAL, np.random.default_rng(0)).line
    assert line.times_s.size == 0
    assert line.starts_mark


@pytest.mark.parametrize("name", sorted(MACHINES))
def test_practice_machines_can_be_read(name):
    machine = MACHINES[name]
    line = send(FOX, machine, np.random.default_rng(5)).line
    assert read_codes(line.times_s, line.mark_after, line.starts_mark, machine.motor.unit_s) == FOX


def test_petrel_is_as_the_museum_says():
    sent = send(FOX * 5, PETREL, np.random.default_rng(6))
    assert sent.unit_s.mean() == pytest.approx(0.022 / 0.99, rel=5e-4)
    made = sent.instants
    late = {}
    for number in range(1, 6):
        mine = made.closing & (made.boundary == number)
        ideal = sent.start_s[made.character[mine]] + number * PETREL.motor.unit_s
        late[number] = np.mean(made.time_s[mine] - ideal)
    assert max(late, key=late.get) == 3
    assert late[3] - np.mean([late[n] for n in (1, 2, 4, 5)]) == pytest.approx(1.52e-3, abs=0.1e-3)
    assert at_unit(HERON, 0.02).motor.unit_s == pytest.approx(0.02)
