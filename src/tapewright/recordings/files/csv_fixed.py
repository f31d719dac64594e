r"""The quick way for rows of plain numbers: all cells of a piece at once, digit by digit from the right.

Picture: a column with four decimals, cells of different length lined up at their right ends

        1 2 . 3 4 5 6 ,
          0 . 1 0 0 0 ,
      - 1 . 2 5 0 0   ,
                  <---  the last digit of every cell, then the one before it, ...

It holds where each column keeps its number of decimals (and of exponent digits) through the piece, as instruments
write them. Whole numbers of up to fifteen digits and powers of ten up to 10^22 are exact in double precision, so the
one division or multiplication at the end gives the nearest double, the same that a careful reader of text gives.
Anything else in a cell, and the piece is left to that reader.
"""

import numpy as np
import numpy.typing as npt

Bytes = npt.NDArray[np.uint8]
Places = npt.NDArray[np.int64]
Numbers = npt.NDArray[np.float64]

_LINE_END, _RETURN, _ZERO, _MINUS, _PLUS = 10, 13, 48, 45, 43
_EXPONENTS = (ord("e"), ord("E"))
MOST_DIGITS, MOST_POWER = 15, 22


def read_fixed(text: bytes, columns: int, separator: str, decimal: str) -> Numbers | None:
    """Return the numbers of some lines, shape (rows, columns); None when the quick way does not hold.

    Args:
        text: whole lines.
        columns: cells in each line.
        separator: one character that is no digit.
        decimal: the decimal sign.
    """
    raw = np.frombuffer(text if text.endswith(b"\n") else text + b"\n", np.uint8)
    ends = _cell_ends(raw, columns, ord(separator))
    if ends is None:
        return None
    begins = np.empty_like(ends)
    begins[:, 1:] = ends[:, :-1] + 1
    begins[0, 0] = 0
    begins[1:, 0] = ends[:-1, -1] + 1
    if (returned := raw[ends[:, -1] - 1] == _RETURN).any():
        if not returned.all():
            return None
        ends[:, -1] -= 1
    out = np.empty(ends.shape)
    for column in range(columns):
        numbers = _read_column(raw, begins[:, column].copy(), ends[:, column].copy(), ord(decimal))
        if numbers is None:
            return None
        out[:, column] = numbers
    return out


def _cell_ends(raw: Bytes, columns: int, separator: int) -> Places | None:
    """Return where each cell ends, shape (rows, columns); None when the lines are not all of that many cells."""
    found = np.flatnonzero((raw == separator) | (raw == _LINE_END)) if columns > 1 else np.flatnonzero(raw == _LINE_END)
    if found.size % columns:
        return None
    ends = found.reshape(-1, columns)
    line_end = raw[ends] == _LINE_END
    return ends if line_end[:, -1].all() and not line_end[:, :-1].any() else None


def _read_column(raw: Bytes, begin: Places, end: Places, decimal: int) -> Numbers | None:
    """Read cells from `begin` to before `end`; the first one shows how they are all written."""
    first = raw[begin[0] : end[0]].tolist()
    power: Places | None = None
    for sign in _EXPONENTS:
        if sign in first:
            tail = len(first) - first.index(sign)
            power = _exponents(raw, begin, end, sign, tail)
            if power is None:
                return None
            end, first = end - tail, first[:-tail]
    decimals = len(first) - 1 - first.index(decimal) if decimal in first else 0
    whole = _digits(raw, begin, end, decimals if decimal in first else None, decimal)
    if whole is None:
        return None
    if power is None:
        return whole / 10.0**decimals if decimals else whole
    shift = power - decimals
    if np.abs(shift).max() > MOST_POWER:
        return None
    return np.where(shift < 0, whole / 10.0 ** np.maximum(-shift, 0), whole * 10.0 ** np.maximum(shift, 0))


def _exponents(raw: Bytes, begin: Places, end: Places, sign: int, tail: int) -> Places | None:
    """Read e-05 and the like, all of one length."""
    if (end - begin <= tail).any() or (raw[end - tail] != sign).any():
        return None
    power = _digits(raw, end - tail + 1, end, None, 0)
    return None if power is None else power.astype(np.int64)


def _digits(raw: Bytes, begin: Places, end: Places, decimals: int | None, decimal: int) -> Numbers | None:
    """Read whole numbers with a sign or none, leaving out the decimal sign, which has `decimals` digits behind it."""
    length = end - begin
    longest = int(length.max())
    if length.min() < 1 or longest > MOST_DIGITS + 2:
        return None
    shortest = int(length.min())
    head = raw[begin]
    signed = (head == _MINUS) | (head == _PLUS)
    digits = length - signed
    if (
        digits.min() < 1
        or (decimals is not None and (digits < 2).any())
        or (digits.max() > MOST_DIGITS + (decimals is not None))
    ):
        return None
    if signed.any():
        shortest -= 1
    whole = np.zeros(begin.size, np.int64)
    bad = np.zeros(begin.size, bool)
    scale = 1
    for place in range(longest):
        letter = raw[np.maximum(end - 1 - place, 0)]
        if place == decimals:
            bad |= letter != decimal
            continue
        digit = letter - np.uint8(_ZERO)
        if place < shortest:
            bad |= digit > 9
        else:
            here = place < digits
            bad |= here & (digit > 9)
            digit = np.where(here, digit, np.uint8(0))
        whole += digit.astype(np.int64) * scale
        scale *= 10
    if bad.any():
        return None
    return np.where(head == _MINUS, -whole, whole).astype(np.float64)
