"""Arrays for the page's scripts: a head of JSON that names them, then the numbers as they lie in memory.

    bytes 0..3    length of the head, little-endian
    head          {"arrays": [{"name", "type", "count", "at"}, ...], ...}   padded with spaces
    numbers       each array little-endian, at a whole multiple of 8 from the beginning

As JSON the same numbers would take several times the bytes and the time.
"""

import json
from collections.abc import Mapping
from typing import Any

import numpy as np
import numpy.typing as npt
from starlette.responses import Response

TYPE, EIGHT = "application/octet-stream", 8
#: numpy kind and size -> name of the array type in the page (ECMA-262, TypedArray)
NAMES = {
    "f8": "Float64Array", "f4": "Float32Array", "i4": "Int32Array", "u4": "Uint32Array", "i2": "Int16Array",
    "u2": "Uint16Array", "u1": "Uint8Array", "i1": "Int8Array",
}  # fmt: skip


def pack(arrays: Mapping[str, npt.NDArray[Any]], **head: Any) -> bytes:
    """Return the bytes; whole numbers of eight bytes go as float64, which holds them to 2^53."""
    ready = {name: _plain(array) for name, array in arrays.items()}
    listed: list[dict[str, Any]] = [
        {"name": name, "type": NAMES[a.dtype.str[1:]], "count": a.size, "at": 0} for name, a in ready.items()
    ]  # fmt: skip
    # the places depend on the length of the head, which depends on how many figures the places have: room for all
    room = len(json.dumps({"arrays": listed, **head})) + 20 * len(listed)
    begin = _up(4 + room)
    at = begin
    for each, array in zip(listed, ready.values(), strict=True):
        each["at"] = at
        at = _up(at + array.nbytes)
    text = json.dumps({"arrays": listed, **head}).encode().ljust(begin - 4)
    out = bytearray(at)
    out[:4], out[4:begin] = len(text).to_bytes(4, "little"), text
    for each, array in zip(listed, ready.values(), strict=True):
        out[each["at"] : each["at"] + array.nbytes] = array.tobytes()
    return bytes(out)


def unpack(data: bytes) -> tuple[dict[str, Any], dict[str, npt.NDArray[Any]]]:
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
