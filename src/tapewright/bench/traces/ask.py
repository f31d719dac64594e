"""A window of a trace as a page's script asks for it: ?from= and ?to= in seconds, ?columns= it is drawn in."""

import math
from typing import Any

from starlette.responses import Response

from tapewright.bench.page import Asking
from tapewright.bench.traces.window import MOST_COLUMNS
from tapewright.bench.traces.wire import answer
from tapewright.errors import InputError

COLUMNS = 1000


def window(asking: Asking, study: Any) -> Response:
    """Return it.

    Raises:
        InputError: when the query holds no numbers.
    """
    trace = study.trace
    from_s, to_s = _number(asking, "from", trace.begin_s), _number(asking, "to", trace.end_s)
    columns = min(max(int(_number(asking, "columns", COLUMNS)), 1), MOST_COLUMNS)
    found = trace.window(from_s, to_s, columns)
    arrays = {"times_s": found.times_s, "low": found.low, "high": found.high}
    return answer(arrays, each=found.each, from_s=from_s, to_s=to_s, **study.head)


def _number(asking: Asking, name: str, otherwise: float) -> float:
    text = asking.query.get(name, "")
    if not text:
        return otherwise
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError("the address", place=f"?{name}=", expected="a number", found=repr(text[:40]))
    return value
