"""Arrays to a page, and a window of a trace as its script asks for it: ?from= and ?to= in seconds, ?columns=."""

import json
import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import numpy.typing as npt
from starlette.responses import Response

from tapewright.bench.page import Asking
from tapewright.bench.traces.sampled import MOST_COLUMNS
from tapewright.errors import InputError

TYPE, EIGHT = "application/octet-stream", 8
#: numpy kind and size -> name of the array type in the page (ECMA-262, TypedArray)
NAMES = {
    "f8": "Float64Array",
    "f4": "Float32Array",
    "i4": "Int32Array",
    "u4": "Uint32Array",
    "i2": "Int16Array",
    "u2": "Uint16Array",
    "u1": "Uint8Array",
    "i1": "Int8Array",
}


def pack(arrays: Mapping[str, npt.NDArray[Any]], **head: Any) -> bytes:
    """Return the bytes; whole numbers of eight bytes go as float64, which holds them to 2^53."""
    ready = {name: _plain(array) for name, array in arrays.items()}
    listed: list[dict[str, object]] = [
        {"name": name, "type": NAMES[a.dtype.str[1:]], "count": a.size, "at": 0} for name, a in ready.items()
    ]
    # the places depend on the length of the head, which depends on how many figures the places have: room for all
    room = len(json.dumps({"arrays": listed, **head})) + 20 * len(listed)
    begin = _up(4 + room)
    at = begin
    places = []
    for each, array in zip(listed, ready.values(), strict=True):
        places.append(at)
        each["at"] = at
        at = _up(at + array.nbytes)
    text = json.dumps({"arrays": listed, **head}).encode().ljust(begin - 4)
    out = bytearray(at)
    out[:4], out[4:begin] = len(text).to_bytes(4, "little"), text
    for place, array in zip(places, ready.values(), strict=True):
        out[place : place + array.nbytes] = array.tobytes()
    return bytes(out)


def unpack(data: bytes) -> tuple[dict[str, object], dict[str, npt.NDArray[Any]]]:
    """Return head and arrays back."""
    length = int.from_bytes(data[:4], "little")
    head = json.loads(data[4 : 4 + length])
    types = {name: np.dtype(f"<{short}") for short, name in NAMES.items()}
    return head, {a["name"]: np.frombuffer(data, types[a["type"]], a["count"], a["at"]) for a in head["arrays"]}


def answer(arrays: Mapping[str, npt.NDArray[Any]], **head: Any) -> Response:
    """Return it as an answer to a page's script; what is drawn from the book never changes, so it may be kept."""
    return Response(pack(arrays, **head), media_type=TYPE, headers={"cache-control": "private, max-age=3600"})


def _plain(array: npt.NDArray[Any]) -> npt.NDArray[Any]:
    if array.dtype == bool:
        array = array.view(np.uint8)
    wanted = np.float64 if array.dtype.str[1:] not in NAMES else array.dtype
    return np.ascontiguousarray(array, np.dtype(wanted).newbyteorder("<"))


def _up(at: int) -> int:
    return -(-at // EIGHT) * EIGHT


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
