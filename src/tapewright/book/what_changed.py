"""Two result documents of the same evidence, before and after: verdicts and figures that came out differently."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import isclose
from typing import Any

from tapewright.book.in_words import verdicts_of

#: Sums may come out in another order on another processor; a change below this share of a figure is none.
SAME = 1e-9


@dataclass(frozen=True, slots=True)
class VerdictChange:
    """A verdict that is another now.

    Attributes:
        check: what was judged.
        before, after: "within", "outside", "not shown"; None where it was not judged.
        why: the reason given now; empty where it is not judged any more.
    """

    check: str
    before: str | None
    after: str | None
    why: str


@dataclass(frozen=True, slots=True)
class FigureChange:
    """A measured number that is another now.

    Attributes:
        path: where it stands in the document.
        before, after: value; None where it could not be had.
        u: standard uncertainty of the later one, None where not known.
        unit: of both.
    """

    path: str
    before: float | None
    after: float | None
    u: float | None
    unit: str


def verdict_changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[VerdictChange, ...]:
    """Return the verdicts whose state is another; those judged several times under one name are taken in order."""
    old, new = dict(_by_check(before)), dict(_by_check(after))
    changed = [check for check in dict.fromkeys([*old, *new]) if _state(old.get(check)) != _state(new.get(check))]
    return tuple(
        VerdictChange(check[0], _state(old.get(check)), _state(new.get(check)), str(new.get(check, {}).get("why", "")))
        for check in changed
    )


def figure_changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[FigureChange, ...]:
    """Return the measured numbers that are another, in the order of the later document."""
    old, new = dict(_figures(before)), dict(_figures(after))
    out = []
    for path in dict.fromkeys([*new, *old]):
        was, now = old.get(path, {}), new.get(path, {})
        if not _alike(was.get("value"), now.get("value")):
            unit = str(now.get("unit") or was.get("unit") or "")
            out.append(FigureChange(path, was.get("value"), now.get("value"), now.get("u"), unit))
    return tuple(out)


def _by_check(document: Mapping[str, Any]) -> Iterator[tuple[tuple[str, int], Mapping[str, Any]]]:
    seen: dict[str, int] = {}
    for verdict in verdicts_of(document):
        check = str(verdict.get("check"))
        seen[check] = seen.get(check, 0) + 1
        yield (check, seen[check]), verdict


def _state(verdict: Mapping[str, Any] | None) -> str | None:
    return None if verdict is None else str(verdict.get("state"))


def _figures(part: Any, path: str = "") -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Walk a document for {"value", "u", "unit"}; verdicts are told of by themselves."""
    if isinstance(part, Mapping):
        if "value" in part and "unit" in part and "state" not in part:
            yield path, part
        for key, inner in part.items():
            yield from _figures(inner, f"{path}.{key}" if path else str(key))
    elif isinstance(part, list):
        for place, inner in enumerate(part):
            yield from _figures(inner, f"{path}[{place}]")


def _alike(before: Any, after: Any) -> bool:
    if isinstance(before, int | float) and isinstance(after, int | float):
        return isclose(before, after, rel_tol=SAME, abs_tol=1e-15)
    return bool(before == after)
