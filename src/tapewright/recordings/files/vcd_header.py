r"""The declarations of a VCD file (IEEE 1364-2005, clause 18): time scale, scopes, signals.

Picture:

    $timescale 10 ns $end
    $scope module bench $end            names are joined by dots: bench.line
      $var wire 1 ! line $end           type, width, the short code used below, name
      $var wire 4 " bus [3:0] $end      a vector: one channel for each bit, bus[3] to bus[0]
      $var real 64 # level $end
    $upscope $end
    $enddefinitions $end
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation

from tapewright.errors import InputError

SECONDS = {"s": "1", "ms": "1e-3", "us": "1e-6", "ns": "1e-9", "ps": "1e-12", "fs": "1e-15"}
MOST_BITS = 64


@dataclass(frozen=True, slots=True)
class Signal:
    """One declared signal.

    Attributes:
        code: the short code that stands for it.
        name: with its scopes, joined by dots.
        width: bits.
        real: True for a real number.
    """

    code: bytes
    name: str
    width: int
    real: bool


@dataclass(slots=True)
class Header:
    """What the declarations say; `tick_s` is None when no time scale is given."""

    tick_s: float | None = None
    signals: list[Signal] = field(default_factory=list)


def read_header(tokens: Iterator[bytes], source: str) -> Header:
    """Take the declarations off the tokens, up to and with $enddefinitions $end."""
    header, scopes = Header(), []
    seen: set[bytes] = set()
    for token in tokens:
        if token == b"$enddefinitions":
            _body(tokens)
            return header
        if not token.startswith(b"$") or token == b"$end":
            continue
        body = _body(tokens)
        if token == b"$timescale":
            header.tick_s = _tick(body, source)
        elif token == b"$scope":
            scopes.append(_text(body[-1]) if body else "")
        elif token == b"$upscope":
            if scopes:
                scopes.pop()
        elif token == b"$var":
            signal = _signal(body, scopes, source)
            if signal.code not in seen:
                seen.add(signal.code)
                header.signals.append(signal)
    raise InputError(source, place="header", expected="$enddefinitions", found="the end of the file")


def _body(tokens: Iterator[bytes]) -> list[bytes]:
    """Return the words up to $end."""
    words = []
    for token in tokens:
        if token == b"$end":
            break
        words.append(token)
    return words


def _tick(words: list[bytes], source: str) -> float:
    """Return the time scale in seconds: 1, 10 or 100 of s, ms, us, ns, ps or fs, with or without a blank."""
    text = _text(b"".join(words))
    unit = text.lstrip("0123456789.eE+-").strip()
    try:
        number = Decimal(text[: len(text) - len(unit)] or "1")
        tick = float(number * Decimal(SECONDS[unit.casefold()]))
    except (InvalidOperation, KeyError, OverflowError) as reason:
        expected = "1, 10 or 100 s, ms, us, ns, ps or fs"
        raise InputError(source, place="$timescale", expected=expected, found=text[:40] or "nothing") from reason
    if not 0 < tick < 1e6:
        raise InputError(source, place="$timescale", expected="a length of time above zero", found=text[:40])
    return tick


def _signal(words: list[bytes], scopes: list[str], source: str) -> Signal:
    if len(words) < 4 or not words[1].isdigit() or len(words[1]) > 9:
        found = _text(b" ".join(words))[:60]
        raise InputError(source, place="$var", expected="type, width, code and name", found=found or "nothing")
    name = ".".join([*scopes, _text(words[3])])
    return Signal(words[2], name, int(words[1]), words[0] in (b"real", b"realtime"))


def _text(word: bytes) -> str:
    return word.decode("utf-8", "replace")


def channel_names(signals: list[Signal]) -> list[str]:
    """Name the channels: without scopes where that is clear, a vector bit by bit."""
    short: dict[str, int] = {}
    for signal in signals:
        short[_last(signal.name)] = short.get(_last(signal.name), 0) + 1
    names = []
    for signal in signals:
        name = _last(signal.name) if short[_last(signal.name)] == 1 else signal.name
        names += [name] if bits_of(signal) == 1 else [f"{name}[{bit}]" for bit in range(signal.width - 1, -1, -1)]
    return names


def bits_of(signal: Signal) -> int:
    """Return the channels a signal makes: one, or one for each bit of a vector that is not too wide."""
    return 1 if signal.real or not 1 < signal.width <= MOST_BITS else signal.width


def _last(name: str) -> str:
    return name.rpartition(".")[2] or name
