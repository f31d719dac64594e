"""The one error hierarchy. It imports nothing.

A bad machine is never an error: it is the result we were built to find. An error here means
that Tapewright could not read what it was given, or was asked for something it cannot do.
"""


class TapewrightError(Exception):
    """What all errors of this program have in common: a paragraph for a person, and an exit code."""

    exit_code = 4


class InputError(TapewrightError):
    """Input that could not be read: names the file, the place, what was expected and found, what to do.

    Args:
        source: file name or other name of the input.
        place: where in it, for example "row 12", "byte 44", "key 'knobs[0].name'"; may be empty.
        expected: what should have been there.
        found: what was there.
        do: what the user can do about it.
    """

    def __init__(self, source: str, *, expected: str, found: str, place: str = "", do: str = "") -> None:
        self.source, self.place, self.expected, self.found, self.do = source, place, expected, found, do
        where = f"{source}, {place}" if place else source
        super().__init__(f"{where}: expected {expected}; found {found}." + (f" {do}" if do else ""))


class WrongUseError(TapewrightError):
    """An option or a combination of options that makes no sense; exit code 2."""

    exit_code = 2


class InputFaultsError(TapewrightError):
    """Several faults in one input, one paragraph each, in the order of the input.

    Args:
        faults: at least one.
    """

    def __init__(self, faults: "list[InputError]") -> None:
        self.faults = faults
        count = f"{faults[0].source} has {len(faults)} faults:\n" if len(faults) > 1 else ""
        super().__init__(count + "\n".join(str(fault) for fault in faults))
