"""Signals whose truth is known, as a live source would give them."""

import numpy as np

from tapewright.alphabets import ITA2, encode
from tapewright.line.document import LineSettings
from tapewright.practice.instrument import Instrument, record
from tapewright.practice.keying import Keying
from tapewright.practice.machines import MACHINES, at_unit
from tapewright.practice.transmitter import Transmission, send


def sent(text, *, unit_s=0.022, machine="petrel", seed=1, **keying):
    return send(encode(text, ITA2), at_unit(MACHINES[machine], unit_s), np.random.default_rng(seed), Keying(**keying))


def sampled(transmission: Transmission, rate_hz, *, noise=0.0, ac_hz=0.0, seed=2):
    """16-bit samples, shape (n,), of a sound input; noise as a share of the swing."""
    instrument = Instrument(
        rate_hz, mark_v=0.45, space_v=-0.45, threshold_v=0.0, anti_alias=True, bits=16, full_scale_v=1.0,
        noise_v=0.9 * noise, ac_hz=ac_hz,
    )
    return np.round(32768 * record(transmission.line, instrument, np.random.default_rng(seed))).astype(np.int16)


def settings(nominal_baud=None):
    return LineSettings(ITA2, nominal_baud=nominal_baud)
