"""What a watch has told so far, folded into one picture: what a page that comes late or comes back needs."""

from collections import deque

from tapewright.bench.live import Line

TEXT_KEPT, TIMES_KEPT = 400, 500


class Standing:
    """Takes the lines of a watch; gives the picture as JSON."""

    def __init__(self) -> None:
        """Begin with an empty picture."""
        self.source = ""
        self.elements = 5
        self._text = ""
        self._picture: Line = {
            "learning": None,
            "learned": None,
            "figures": None,
            "character": None,
            "characters": 0,
            "lost": [],
            "instrument": [],
            "trials": [],
        }
        self._needles: dict[str, Line] = {}
        self._before: dict[str, Line] = {}
        self._screen_ms: deque[float] = deque(maxlen=TIMES_KEPT)
        self._takes = {
            "source": self._begun,
            "learning": self._learning,
            "learned": self._learned,
            "character": self._struck,
            "typed": self._typed,
            "figures": self._figures,
            "lost": self._lost,
            "trial": self._trial,
            "compared": self._compared,
        }

    def take(self, line: Line) -> None:
        """Fold one line in."""
        taken = self._takes.get(line["kind"])
        if taken is not None:
            taken(line)

    def picture(self) -> Line:
        """Return all of it."""
        return self._picture | {
            "source": self.source,
            "elements": self.elements,
            "text": self._text,
            "needles": list(self._needles.values()),
            "before": list(self._before.values()),
            "screen_ms": self._times(),
        }

    def _times(self) -> dict[str, float] | None:
        """Return how long from the edge to here: median and the 95th of a hundred."""
        if not self._screen_ms:
            return None
        ordered = sorted(self._screen_ms)
        return {"median": ordered[len(ordered) // 2], "p95": ordered[int(0.95 * (len(ordered) - 1))]}

    def _begun(self, line: Line) -> None:
        self.source, self.elements = line["source"], line["elements"]
        self._picture["instrument"] = line["instrument"]

    def _learning(self, line: Line) -> None:
        self._picture["learning"] = line

    def _learned(self, line: Line) -> None:
        self._picture |= {"learned": line, "learning": None}
        self._picture["instrument"] = [*self._picture["instrument"], *line["instrument"]]
        if line["again"]:
            self._text = ""
            self._needles.clear()

    def _struck(self, line: Line) -> None:
        self._typed(line)
        if line["screen_ms"] is not None:
            self._screen_ms.append(line["screen_ms"])
        self._needles |= {f"{n['contact']} {n['direction']}": n for n in line["needles"]}

    def _typed(self, line: Line) -> None:
        self._picture |= {"character": line, "characters": line["number"], "learning": None}
        self._text = (self._text + line["text"])[-TEXT_KEPT:]

    def _figures(self, line: Line) -> None:
        self._picture["figures"] = line

    def _lost(self, line: Line) -> None:
        self._picture["lost"] = [*self._picture["lost"], line][-20:]

    def _trial(self, line: Line) -> None:
        """What was keyed up to here is "before": its bands stay as they are, and new ones begin."""
        self._picture["trials"] = [*self._picture["trials"], {"marked": line, "compared": None}]
        self._before, self._needles = self._needles, {}
        self._picture["figures"] = None

    def _compared(self, line: Line) -> None:
        self._picture["trials"] = [
            each | {"compared": line} if each["marked"]["number"] == line["number"] else each
            for each in self._picture["trials"]
        ]
