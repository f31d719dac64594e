"""What a person may say about a picture of tape: the options of `tape read`, the page's fields, the API's keywords."""

from dataclasses import dataclass

from tapewright.alphabets import ALPHABETS, Alphabet
from tapewright.errors import WrongUseError
from tapewright.furniture.kinds import Choice, Number, Text
from tapewright.furniture.settings import RefusedError, Settings, setting
from tapewright.message.expected import expected_codes


@dataclass(frozen=True, kw_only=True)
class TapeSettings(Settings):
    """Settings of `tape read`."""

    dpi: float | None = setting(Number(20, 20_000, "dpi"), "Dots per inch, when you have measured it", None)
    alphabet: str = setting(
        Choice(tuple(ALPHABETS)), "Code table", "ita2", "Code table: ita2, or us for the US commercial figures."
    )
    expect: str | None = setting(
        Text(lines=True, from_file=True), "What the tape should say", None,
        "What the tape should say, or pattern:NAME[:COUNT].",
    )  # fmt: skip
    feed_line: str = setting(
        Choice(("in-line", "advanced", "auto")), "Feed holes", "auto",
        "Feed holes in line with the code holes, or ahead of them.", page=False,
    )  # fmt: skip
    two_hole_side: str = setting(
        Choice(("top", "bottom", "auto")), "Two-hole side", "auto",
        "Where the side with two tracks (elements 1 and 2) lies in the picture.", page=False,
    )  # fmt: skip

    @property
    def table(self) -> Alphabet:
        """Return the code table."""
        return ALPHABETS[self.alphabet]

    @property
    def expected(self) -> tuple[str, ...] | None:
        """Return the codes that should be on the tape, None when nobody said."""
        return expected_codes(self.expect, self.table)

    def check(self) -> None:
        """Refuse a text that the alphabet cannot send."""
        try:
            expected_codes(self.expect, self.table)
        except WrongUseError as reason:
            wanted = f"a text that {self.table.name} can send, or pattern:NAME[:COUNT]"
            raise RefusedError("expect", wanted, str(reason).removesuffix(".")) from None
