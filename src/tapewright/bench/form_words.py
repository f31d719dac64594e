"""What the measuring says of options, in the words of the form on the page.

The measuring names an option of its command ("give it with --expect"); on the page there is a field for each of them.
"""

import re

#: option of a measuring command -> label of the field under "Add evidence" that sets the same
FIELDS = {
    "--expect": "Text that was sent or punched",
    "--phase": "Taken",
    "--nominal": "Speed it should have, baud",
    "--dpi": "Resolution of the scan, dots per inch",
    "--rate": "Samples per second, where the file does not tell",
    "--channel": "Channel, by name or number",
    "--idle": "Level of the line at rest",
    "--threshold": "Threshold, or low and high, volt",
    "--clock-ppm": "The recorder's clock is right within, parts in a million",
    "--shunt": "Shunt, ohm (a coil's current)",
    "--supply": "Supply, volt (a coil's current)",
    "--series-ohm": "Other resistance in the loop, ohm (a coil's current)",
}
_OPTION = re.compile(r"--[a-z][a-z-]*")


def in_fields(text: str) -> str:
    """Put the label of the field in the place of each option: "give it with “Text that was sent or punched”"."""
    return _OPTION.sub(lambda found: f"“{FIELDS[found[0]]}”" if found[0] in FIELDS else found[0], text)
