"""What the user said about a sink."""

from dataclasses import dataclass

from tapewright.errors import WrongUseError


@dataclass(frozen=True, slots=True)
class Asked:
    """What was said beside the sink's name.

    Attributes:
        where: a device, a port, a file, a machine; empty for the usual one.
        rate_hz: samples a second of sound; None for the sink's own.
        tone_hz: key a tone of this frequency; None for baseband.
        turned: mark low, or the tone on in space.
        by: "uart", "break" or "auto": how a serial port sends.
        seed: of the practice machine's chance.
        orientation: how much later than usual the practice machine looks, units.
    """

    where: str = ""
    rate_hz: float | None = None
    tone_hz: float | None = None
    turned: bool = False
    by: str = "auto"
    seed: int = 1
    orientation: float = 0.0

    def must_say_where(self, kind: str, example: str) -> str:
        """Return where.

        Raises:
            WrongUseError: when nothing was said.
        """
        if not self.where:
            raise WrongUseError(f"--to {kind} needs to know which one: for example --to {example}.")
        return self.where
