"""What a person may say of a sheet and of trials; from it come options, form fields and keywords."""

from dataclasses import dataclass

from tapewright.furniture.kinds import Text
from tapewright.furniture.settings import Settings, setting


@dataclass(frozen=True, kw_only=True)
class SheetSettings(Settings):
    """How a sheet is read.

    Attributes:
        variant: chooses among requirements that do not apply to every variant; empty for what the sheet says.
    """

    variant: str = setting(
        Text(200), "Which variant of the machine", "", "Which variant of the machine; else what the sheet says."
    )
