r"""The watched line on a terminal: text, speed, and a ruler with a needle for each contact.

Picture (| = where it belongs, [==] = the band of the last 20, A = the needle of the last character):

    contact 3 closes   -2 ........|....[=A=].... +2    +1.52 ms
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from tapewright.line.live.events import Event, Figures, Learned, Learning, Struck, Typed
from tapewright.line.live.needles import Needle
from tapewright.line.live.watch import heard
from tapewright.line.live.watch_json import contact_name
from tapewright.line.live.watch_text import event_text

#: widest and narrowest ruler, what stands beside it, and a terminal of the usual size
WIDTH, NARROWEST, BESIDE, TERMINAL = 41, 11, 35, (80, 24)
TEXT_LINES = 3
TEXT_KEPT, SAID_KEPT = 240, 4
#: half widths of the rulers, ms; the smallest that holds all bands is taken
RULERS_MS = (1.0, 2.0, 5.0, 10.0)
ASKED = "what did you turn? {}_   (Enter marks it)"
KEYS = "h hold    t trial: I am turning something    q quit"


@dataclass(slots=True)
class Shown:
    """What the screen shows.

    Attributes:
        source: what is watched.
        elements: of a character.
    """

    source: str
    elements: int
    text: str = ""
    speed: str = "learning"
    unit: str = ""
    held: bool = False
    typing: str | None = None
    needles: dict[tuple[int, bool], Needle] = field(default_factory=dict)
    moved: set[tuple[int, bool]] = field(default_factory=set)
    said: list[str] = field(default_factory=list)

    def take(self, event: Event) -> None:
        """Take an event in."""
        if isinstance(event, Struck | Typed):
            self.text = (self.text + (heard(event) or ""))[-TEXT_KEPT:]
        if isinstance(event, Struck):
            self.moved = {(n.contact, n.closing) for n in event.needles}
            self.needles |= {(n.contact, n.closing): n for n in event.needles}
            if event.unit_ms.value is not None:
                self.unit = f"this character {event.unit_ms.value:.2f} ms"
        elif isinstance(event, Figures):
            speed = event.result.speed
            doubt = "" if speed.proven else f"   not proven: {speed.why}"
            self.speed = f"{speed.baud}   unit {speed.unit_ms}{doubt}"
        elif isinstance(event, Learning | Learned):
            self.speed = event_text(event).strip()
        elif not isinstance(event, Typed):
            self.said = [*self.said, *event_text(event).splitlines()][-2 * SAID_KEPT :]

    def forget_needles(self) -> None:
        """Begin new bands, as after a trial."""
        self.needles.clear()


def ruler(needle: Needle, half_ms: float, width: int = WIDTH) -> str:
    """Draw one needle in its band on a ruler from -half_ms to +half_ms."""

    def place(ms: float) -> int:
        return round((min(max(ms, -half_ms), half_ms) / half_ms + 1) / 2 * (width - 1))

    cells = ["."] * width
    if needle.band_low_ms is not None and needle.band_high_ms is not None:
        low, high = place(needle.band_low_ms), place(needle.band_high_ms)
        cells[low : high + 1] = ["="] * (high - low + 1)
        cells[low], cells[high] = "[", "]"
    cells[place(0.0)] = "|"
    cells[place(needle.late_ms)] = "A"
    return "".join(cells)


def half_width(needles: dict[tuple[int, bool], Needle]) -> float:
    """Return the half width of the smallest ruler that holds all needles and bands."""
    ends = [abs(e) for n in needles.values() for e in (n.late_ms, n.band_low_ms or 0.0, n.band_high_ms or 0.0)]
    most = max(ends, default=0.0)
    return next((half for half in RULERS_MS if half >= most), RULERS_MS[-1])


def newest(text: str, width: int) -> list[str]:
    """Return the last lines of a text, broken at the width, so that what was keyed last is seen."""
    lines = text.replace("\r", "").split("\n")[-TEXT_LINES:]
    broken = [line[first : first + width] for line in lines for first in range(0, max(1, len(line)), width)]
    return broken[-TEXT_LINES:]


def lines_of(shown: Shown, width: int = TERMINAL[0], height: int = TERMINAL[1]) -> list[str]:
    """Return the screen as lines: none wider than it; keys and question always seen, of what was said the last."""
    hold = "   HELD: h goes on" if shown.held else ""
    out = [f"{shown.source}{hold}", f"{shown.speed}   {shown.unit}", ""]
    out += newest(shown.text, width)
    half, cells = half_width(shown.needles), min(WIDTH, max(NARROWEST, width - BESIDE))
    out += ["", f"late + / early -, ms; ruler {-half:g} to {half:+g}; [==] holds the last 20, A is the last"]
    for key in sorted(shown.needles, key=lambda k: (k[0], not k[1])):
        needle = shown.needles[key]
        name = contact_name(needle.contact, shown.elements)
        way = "closes" if needle.closing else "opens "
        mark = ">" if key in shown.moved else " "
        out.append(f"{mark} {name:>4} {way} {ruler(needle, half, cells)} {needle.late_ms:+z6.2f}"
                   f"  mean {needle.mean_ms:+z6.2f}")  # fmt: skip
    room = min(2 * SAID_KEPT, height - len(out) - 3)
    out += ["", *(shown.said[-room:] if room > 0 else ()), ""]
    out.append(KEYS if shown.typing is None else ASKED.format(shown.typing[-max(8, width - len(ASKED)) :]))
    return [line[:width] for line in out]


class Screen:
    """Draws on a terminal, not more often than it can be read."""

    def __init__(self, shown: Shown, clock: Callable[[], float]) -> None:
        from rich.console import Console
        from rich.live import Live

        self.shown = shown
        self._clock, self._drawn_at_s = clock, 0.0
        self._console = Console()
        self._live: Any = Live(console=self._console, auto_refresh=False, screen=True)
        self._live.start()

    def draw(self, *, now: bool = False) -> None:
        """Draw when something has changed; at most 30 times a second unless `now`."""
        from rich.text import Text

        if not now and self._clock() - self._drawn_at_s < 1 / 30:
            return
        self._drawn_at_s = self._clock()
        self._live.update(Text("\n".join(lines_of(self.shown, *self._console.size)), no_wrap=True), refresh=True)

    def close(self) -> None:
        """Return the terminal back."""
        self._live.stop()
