"""Any edges at all end in an answer whose document is plain JSON."""

import json

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tapewright.alphabets import ITA2
from tapewright.line.document import LineSettings
from tapewright.line.measure import measure_line
from tapewright.line.plot import line_plot
from tapewright.line.read import LineReport, line_document
from tapewright.line.text import line_text
from tapewright.recordings.capture import RawEdges, Recording

gaps = st.one_of(
    st.floats(1e-6, 2.0), st.sampled_from([0.022, 0.044, 0.02, 0.0001, 0.01, 0.132, 0.154, 1.0]), st.just(0.0)
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    gaps=st.lists(gaps, max_size=60),
    starts_high=st.booleans(),
    idle=st.sampled_from(["auto", "high", "low"]),
    nominal=st.sampled_from([None, 50.0, 300.0]),
    u=st.sampled_from([0.0, 1e-6, 1e-3]),
)
def test_any_edges_end_in_an_answer(gaps, starts_high, idle, nominal, u):
    times = 0.1 + np.cumsum(gaps) if gaps else np.empty(0)
    levels = (np.arange(times.size) % 2 == 0) != starts_high
    end = float(times[-1]) + 0.1 if times.size else 1.0
    edges = RawEdges(times, levels, np.full(times.size, u), starts_high, 0.0, end)
    result = measure_line(edges, LineSettings(ITA2, nominal_baud=nominal, idle=idle, expect=("01010", "10101")))
    report = LineReport("x", "0" * 64, Recording(edges, "made up", "1", ("1",), times.size, None), result, ())
    json.dumps(line_document(report), allow_nan=False)
    assert line_text(report).startswith("x: made up")
    assert line_plot(report).startswith("<svg")
