"""What other packages add: modules named by entry points in a group of ours.

A package states in its own pyproject.toml, for example

    [project.entry-points."tapewright.capture_formats"]
    mine = "my_package.my_format"

and the module it names is used like one of the house's own.
"""

import functools
import sys
from pathlib import Path

from tapewright.errors import InputError

CAPTURE_FORMATS, LIVE_SOURCES = "tapewright.capture_formats", "tapewright.live_sources"
SIGNAL_FORMATS, SINKS = "tapewright.signal_formats", "tapewright.sinks"


@functools.cache
def from_outside(group: str, needs: tuple[str, ...]) -> dict[str, object]:
    """Return the modules of other packages in a group, by the names of their entry points.

    Args:
        group: one of the groups above.
        needs: attributes that each of them must have.

    Raises:
        InputError: when one cannot be imported or lacks something: which package, and what.
    """
    if not _anybody_names(group):
        return {}
    from importlib.metadata import entry_points

    found: dict[str, object] = {}
    for point in sorted(entry_points(group=group), key=lambda point: point.name):
        source = f"entry point {point.name!r} of {point.dist.name if point.dist else 'a package'}"
        do = f"Update or remove that package; {group} is described in docs/how-to/add-a-format.md."
        try:
            module = point.load()
        except Exception as reason:
            found_text = f"{type(reason).__name__}: {reason}"
            raise InputError(source, expected=f"{point.value} to import", found=found_text, do=do) from reason
        lacking = [name for name in needs if not hasattr(module, name)]
        if lacking:
            raise InputError(source, expected=f"{', '.join(needs)} in {point.value}", found=f"no {lacking[0]}", do=do)
        found[point.name] = module
    return found


def _anybody_names(group: str) -> bool:
    """Return whether an installed package may have entry points in a group.

    The library that reads them takes some hundredths of a second to load; this look takes a few thousandths.
    """
    for folder in map(Path, sys.path):
        for told in folder.glob("*.dist-info/entry_points.txt") if folder.is_dir() else ():
            if group in told.read_text("utf-8", "replace"):
                return True
    return False
