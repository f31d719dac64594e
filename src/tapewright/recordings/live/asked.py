"""What the user said about a live source, and the names its parts go by."""

from dataclasses import dataclass
from pathlib import Path

from tapewright.errors import WrongUseError


@dataclass(frozen=True, slots=True)
class Asked:
    """What was said beside the source's name.

    Attributes:
        where: which of its kind: a port, a file, a device; empty for the usual one.
        rate_hz: samples a second; None for the source's own.
        channel: which channel, from 1; None for the first.
        baud: nominal speed of the line, where the source must know it.
        text: what the practice machine types.
        fast: as fast as can be, instead of in real time.
        follow: wait for more at the end of a file.
        patience_s: wait no longer than this for a head that has not been written yet; None for any time.
        raw: how raw bytes are to be taken, for example "u8".
        profile: words of an instrument.
        seed: of the practice machine's chance.
    """

    where: str = ""
    rate_hz: float | None = None
    channel: int | None = None
    baud: float | None = None
    text: str = ""
    fast: bool = False
    follow: bool = False
    patience_s: float | None = None
    raw: str | None = None
    profile: Path | None = None
    seed: int = 1

    def must_say_where(self, kind: str, example: str) -> str:
        """Return where.

        Raises:
            WrongUseError: when nothing was said.
        """
        if not self.where:
            raise WrongUseError(f"--from {kind} needs to know which one: for example --from {example}.")
        return self.where
