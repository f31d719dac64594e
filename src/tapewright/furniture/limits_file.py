"""A user's own limits, as TOML: what to judge, the ends, and where the figures come from.

[[limits]]
check = "contact lateness"
low = -0.5
high = 0.5
unit = "ms"
source = "Petrel's service notes"
place = "p. 12"
standing = "manual"            # or "owner", "common practice"
"""

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from tapewright.errors import InputError
from tapewright.number import Limit, Source, Standing

STANDINGS = {
    "manual": Standing.MANUAL,
    "owner": Standing.OWNER,
    "common practice": Standing.COMMON_PRACTICE,
    "published": Standing.PUBLISHED,
}
KEYS = {"check", "low", "high", "unit", "source", "place", "standing"}


def read_limits(path: Path, checks: Mapping[str, str]) -> tuple[Limit, ...]:
    """Read the limits of a file.

    Args:
        path: the TOML file.
        checks: what can be judged, with the unit each is in.

    Raises:
        InputError: names the entry and key, what was expected and what was found.
    """
    try:
        document = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as reason:
        found = (reason.strerror or "nothing readable").lower()
        raise InputError(path.name, expected="a TOML file with limits", found=found, do="Check the name.") from reason
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as reason:
        raise InputError(path.name, expected="TOML", found=str(reason), do="See docs/how-to/own-limits.md.") from reason
    entries = document.get("limits")
    if not isinstance(entries, list) or not entries:
        raise InputError(path.name, place="key 'limits'", expected="[[limits]] entries", found=_shown(entries))
    return tuple(_limit(entry, f"limits[{n}]", path.name, checks) for n, entry in enumerate(entries))


def _limit(entry: Any, place: str, source: str, checks: Mapping[str, str]) -> Limit:
    if not isinstance(entry, dict):
        raise InputError(source, place=place, expected="a table", found=_shown(entry))
    strange = sorted(set(entry) - KEYS)
    if strange:
        raise InputError(source, place=f"{place}.{strange[0]}", expected=" or ".join(sorted(KEYS)), found="another key")
    check = str(entry.get("check", ""))
    if check not in checks:
        raise InputError(source, place=f"{place}.check", expected=", ".join(checks), found=_shown(entry.get("check")))
    unit = entry.get("unit", checks[check])
    if unit != checks[check]:
        raise InputError(source, place=f"{place}.unit", expected=f"{checks[check]!r} for {check}", found=_shown(unit))
    standing = entry.get("standing", "owner")
    if standing not in STANDINGS:
        raise InputError(source, place=f"{place}.standing", expected=", ".join(STANDINGS), found=_shown(standing))
    ends = [_end(entry, key, place, source) for key in ("low", "high")]
    where = Source(str(entry.get("source", source)), str(entry.get("place", "")), STANDINGS[standing])
    try:
        return Limit(check, ends[0], ends[1], unit, where)
    except ValueError as reason:
        expected = "low, high or both, low below high"
        raise InputError(source, place=place, expected=expected, found=str(reason)) from reason


def _end(entry: dict[str, Any], key: str, place: str, source: str) -> float | None:
    value = entry.get(key)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InputError(source, place=f"{place}.{key}", expected="a number", found=_shown(value))
    return float(value)


def _shown(value: Any) -> str:
    return "nothing" if value is None else repr(value)[:60]
