r"""A serial port: its own shift register for clean text, or its break condition, timed, for anything else.

    UART     start, 5 data bits with bit 0 = element 1 first, stop 1.5: exact to the port's own clock
    break    transmit line held at space or let go, change by change; as good as the computer's timing (measured)

A port sets a whole number of baud. With 5 data bits the long stop of a 16550-class port is 1.5 units.
"""

import contextlib
import importlib
import math
from typing import Any

from tapewright.errors import InputError, WrongUseError
from tapewright.number import Reading
from tapewright.practice.transmitter import Transmission
from tapewright.sender.send import Delivered, Progress
from tapewright.sender.sinks.asked import Asked
from tapewright.sender.sinks.break_timing import Clock, ComputerClock, key_line

KIND = "serial"
WHAT = "a serial port: text by its UART, anything else by timed breaks"
EXAMPLE = "serial:/dev/ttyUSB0"
INSTALL = "install what is missing with: pip install 'tapewright[live]'"
DATA_BITS, LONG_STOP_UNITS = 5, 1.5
#: between two looks at how much has gone out
LOOK_S = 0.1
UNSEEN = (
    "What happens behind the port is not seen here: a USB adapter may add up to a millisecond to each change. "
    "Record the line and read it back before you trust a distortion."
)
#: jitter above this share of the unit is said to be too much for a distortion test
ROUGH_SHARE = 0.005


def unavailable() -> str:
    """Say why no serial port can be used; empty when one can."""
    try:
        importlib.import_module("serial")
    except ImportError:
        return INSTALL
    return ""


def found() -> tuple[str, ...]:
    """Name the ports."""
    if unavailable():
        return ()
    return tuple(str(port.device) for port in importlib.import_module("serial.tools.list_ports").comports())


class SerialSink:
    """One serial port."""

    drives_loop = True

    def __init__(self, asked: Asked, clock: Clock | None = None) -> None:
        """Take the port's name; it is opened when the signal goes out."""
        self._asked, self._clock = asked, clock or ComputerClock()
        self._port: Any = None
        self._delivered = False
        self._name = asked.must_say_where(KIND, EXAMPLE)
        self.what = f"serial port {self._name}"

    def deliver(self, transmission: Transmission, baud: float, progress: Progress) -> Delivered:
        """Send by UART when that can be exact, else by breaks."""
        why_not = why_not_uart(transmission)
        if self._asked.by == "uart" and why_not:
            raise WrongUseError(f"--by uart: the port's own shift register cannot send this: {why_not}.")
        by_uart = self._asked.by == "uart" or (self._asked.by == "auto" and not why_not)
        try:
            return self._by_uart(transmission, progress) if by_uart else self._by_break(transmission, baud, progress)
        except OSError as reason:
            raise InputError(self.what, expected="a port that takes the signal", found=str(reason),
                             do="Is it still plugged in? Send it again from the beginning.") from reason  # fmt: skip

    def close(self) -> None:
        """Throw away what has not gone out, leave the line at mark and let go of the port.

        After a whole delivery nothing is thrown away: an adapter may still hold the last characters.
        """
        if self._port is not None:
            with contextlib.suppress(OSError):  # one that was pulled out holds nothing any more
                if not self._delivered:
                    self._port.reset_output_buffer()
                self._port.break_condition = False
            with contextlib.suppress(OSError):
                self._port.close()
            self._port = None

    def _by_uart(self, transmission: Transmission, progress: Progress) -> Delivered:
        baud = 1 / transmission.transmitter.motor.unit_s
        port_baud = max(1, round(baud))
        self._open(port_baud)
        data = bytes(byte_of(code) for code in transmission.sent)
        self._port.write(data)
        while waiting := self._port.out_waiting:
            progress(1 - waiting / len(data))
            self._clock.sleep(LOOK_S)
        self._port.flush()
        self._delivered = True
        progress(1.0)
        error = 100 * (port_baud / baud - 1)
        notes = []
        if abs(error) > 0.01:
            notes.append(f"A port takes whole baud: {port_baud} is {error:+z.2f} % against {baud:.6g} (or --by break).")
        if transmission.transmitter.stop_units != LONG_STOP_UNITS:
            notes.append("The port's long stop is 1.5 units: characters come 1.1 % slower than with 1.42, no harm.")
        how = f"by the port's UART, {DATA_BITS} data bits, stop {LONG_STOP_UNITS:g}, {port_baud} Bd"
        return Delivered(how, baud=port_baud, notes=tuple(notes))

    def _by_break(self, transmission: Transmission, baud: float, progress: Progress) -> Delivered:
        self._open(9600)  # the rate does not matter: nothing goes through the shift register

        def set_space(space: bool) -> None:
            self._port.break_condition = space

        late = 1000 * key_line(transmission.line, set_space, self._clock, progress)
        if not late.size:
            return Delivered("by timed breaks", notes=(UNSEEN,))
        spread = float(late.std(ddof=1)) if late.size > 1 else 0.0
        jitter = Reading(spread, spread / math.sqrt(2 * max(late.size - 1, 1)), "ms", int(late.size))
        share = spread * baud / 1000
        notes = [UNSEEN]
        if share > ROUGH_SHARE:
            notes.insert(0, f"The jitter is {100 * share:.1f} % of a unit: too rough for a distortion test. "
                            "Close other programs and send again, or use sound.")  # fmt: skip
        return Delivered("by timed breaks", jitter, float(late.max()), notes=tuple(notes))

    def _open(self, baud: int) -> None:
        serial = importlib.import_module("serial")
        try:
            self._port = serial.Serial(
                self._name, baud, bytesize=DATA_BITS, parity="N", stopbits=serial.STOPBITS_ONE_POINT_FIVE, timeout=1
            )
        except (OSError, ValueError) as reason:
            known = ", ".join(found()) or "none"
            raise InputError(
                self.what, expected="a port that opens", found=str(reason), do=f"Ports found here: {known}."
            ) from reason


def byte_of(code: str) -> int:
    """Return the byte whose bits are the elements, element 1 in bit 0: what a UART sends first."""
    return int(code[::-1], 2)


def why_not_uart(transmission: Transmission) -> str:
    """Say why a shift register cannot send this exactly; empty when it can."""
    sender = transmission.transmitter
    if sender.bias_s or sender.end_s or sender.scatter_s or sender.start_scatter_s:
        return "it is distorted on purpose"
    if sender.motor.hunt or sender.motor.cold or sender.motor.out_of_true_s:
        return "its speed wavers on purpose"
    if any(c != type(c)() for c in (*sender.contacts, sender.stop)):
        return "its contacts have faults on purpose"
    spaced = transmission.start_s[1:] - transmission.start_s[:-1]
    whole = (1 + DATA_BITS + sender.stop_units) * sender.motor.unit_s
    if spaced.size and float(abs(spaced - whole).max()) > 1e-9:
        return "there are gaps between its characters"
    return "" if sender.stop_units in (1.42, LONG_STOP_UNITS) else f"its stop is {sender.stop_units:g} units"


def open_sink(asked: Asked) -> SerialSink:
    """Open it."""
    return SerialSink(asked)
