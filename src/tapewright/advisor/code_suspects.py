"""The transformations a code can suffer, as a table of rules: what is sent, and the code before it, to what comes."""

from collections.abc import Callable
from dataclasses import dataclass

from tapewright.alphabets.alphabet import complement, reversed_order
from tapewright.message.kinds import both_or, sampled_early, sampled_late

#: sent, previous code sent -> received
Rule = Callable[[str, str], str]

BLANK = "00000"


@dataclass(frozen=True, slots=True)
class Suspect:
    """A transformation.

    Attributes:
        name: in words.
        rule: what it makes of a code.
        prior: how common it is; only ratios count (common practice, no source).
        findings: findings it is evidence for.
        element: the element it concerns, 0 when all.
    """

    name: str
    rule: Rule
    prior: float
    findings: tuple[str, ...]
    element: int = 0


def _with_element(code: str, element: int, value: str) -> str:
    return code[: element - 1] + value + code[element:]


def _fixed(element: int, value: str) -> Rule:
    return lambda sent, before: _with_element(sent, element, value)


def _takes(element: int, step: int) -> Rule:
    """Element takes the value of its neighbour: +1 the one after (stop is mark), -1 the one before (start is space)."""

    def rule(sent: str, before: str) -> str:
        around = "0" + sent + "1"
        return _with_element(sent, element, around[element + step])

    return rule


def _keeps(element: int) -> Rule:
    return lambda sent, before: _with_element(sent, element, before[element - 1])


def _keeps_mark(element: int) -> Rule:
    return lambda sent, before: _with_element(sent, element, "1" if before[element - 1] == "1" else sent[element - 1])


def _keeps_space(element: int) -> Rule:
    return lambda sent, before: _with_element(sent, element, "0" if before[element - 1] == "0" else sent[element - 1])


def _needs_neighbour(element: int, other: int, other_value: str, becomes: str) -> Rule:
    def rule(sent: str, before: str) -> str:
        return _with_element(sent, element, becomes) if sent[other - 1] == other_value else sent

    return rule


def _both_and(sent: str, before: str) -> str:
    return "".join("1" if pair == ("1", "1") else "0" for pair in zip(sent, before, strict=True))


def _isolated(value: str) -> Rule:
    """A mark (or space) that stands alone among the five is lost.

    Start and stop are left out of it: T (element 5 before the stop) and V (element 1 after the start) belong to the
    characters that fail first (common practice, no source).
    """
    other = "0" if value == "1" else "1"

    def rule(sent: str, before: str) -> str:
        around = other + sent + other
        alone = [n for n in range(1, 6) if around[n] == value and around[n - 1] == other == around[n + 1]]
        return "".join(other if n in alone else sent[n - 1] for n in range(1, 6))

    return rule


def _whole(turn: Callable[[str], str]) -> Rule:
    return lambda sent, before: turn(sent)


def _exchanged(one: int, other: int) -> Rule:
    """Two elements have changed places: their leads were exchanged."""

    def rule(sent: str, before: str) -> str:
        return _with_element(_with_element(sent, one, sent[other - 1]), other, sent[one - 1])

    return rule


def _tied(one: int, other: int, value: str) -> Rule:
    """Two elements are tied: either makes both mark ("1"), or both are needed for a mark ("0")."""

    def rule(sent: str, before: str) -> str:
        pair = sent[one - 1] + sent[other - 1]
        both = value if value in pair else sent[one - 1]
        return _with_element(_with_element(sent, one, both), other, both)

    return rule


def _inverted(element: int) -> Rule:
    return lambda sent, before: _with_element(sent, element, "0" if sent[element - 1] == "1" else "1")


def _tail_takes(first: int, step: int) -> Rule:
    """Elements from `first` on take their neighbour's value: speed off, the end of the character suffers first."""

    def rule(sent: str, before: str) -> str:
        around = "0" + sent + "1"
        return sent[: first - 1] + "".join(around[n + step] for n in range(first, 6))

    return rule


def suspects() -> list[Suspect]:
    """Return every transformation known, as a table."""
    every = range(1, 6)
    table = [
        Suspect("every element read one late", _whole(sampled_late), 2, ("reads-late",)),
        Suspect("every element read one early", _whole(sampled_early), 2, ("reads-early",)),
        Suspect("mark and space exchanged", _whole(complement), 2, ("complement",)),
        Suspect("element order reversed", _whole(reversed_order), 2, ("reversed-order",)),
        Suspect("order reversed, mark and space exchanged", _whole(lambda c: complement(reversed_order(c))), 0.5,
                ("complement", "reversed-order")),
        Suspect("marks of the character before are left over", both_or, 1.5, ("or-with-previous",)),
        Suspect("only marks that the character before had too", _both_and, 0.3, ("depends-on-previous",)),
        Suspect("everything comes one character late", lambda sent, before: before, 1, ("one-character-behind",)),
        Suspect("marks that stand alone are lost", _isolated("1"), 2, ("isolated-marks-lost",)),
        Suspect("spaces that stand alone are filled", _isolated("0"), 2, ("isolated-spaces-lost",)),
        Suspect("every code comes as blank", _whole(lambda c: BLANK), 1, ("everything-blank",)),
        Suspect("every code comes as letters shift", _whole(lambda c: "11111"), 1, ("everything-letters",)),
        Suspect("element 5 stays mark, all others space", _whole(lambda c: "00001"), 0.5, ("nearly-only-t",)),
    ]  # fmt: skip
    for k in every:
        table += [
            Suspect(f"element {k} never comes as mark", _fixed(k, "0"), 2, ("element-lost",), k),
            Suspect(f"element {k} always comes as mark", _fixed(k, "1"), 2, ("element-stuck",), k),
            Suspect(f"element {k} keeps what it was", _keeps(k), 0.6, ("depends-on-previous",), k),
            Suspect(f"element {k} keeps a mark too long", _keeps_mark(k), 0.6, ("depends-on-previous",), k),
            Suspect(f"element {k} is slow to become mark", _keeps_space(k), 0.6, ("depends-on-previous",), k),
            Suspect(f"element {k} takes the value after it", _takes(k, 1), 0.4, ("one-element-displaced",), k),
            Suspect(f"element {k} takes the value before it", _takes(k, -1), 0.4, ("one-element-displaced",), k),
        ]
    for first in (4, 5):
        table += [
            Suspect(f"elements {first} to 5 read one late", _tail_takes(first, 1), 1, ("last-elements-first",), 0),
            Suspect(f"elements {first} to 5 read one early", _tail_takes(first, -1), 1, ("last-elements-first",), 0),
        ]
    for k in every:
        table.append(Suspect(f"element {k} is inverted", _inverted(k), 0.4, ("element-inverted",), k))
        for other in range(k + 1, 6):
            near = 1.0 if other == k + 1 else 0.5  # neighbouring leads are exchanged and bridged most easily
            table += [
                Suspect(f"elements {k} and {other} are exchanged", _exchanged(k, other), 1.2 * near,
                        ("elements-exchanged",), k),
                Suspect(f"elements {k} and {other} are bridged: a mark in one makes both mark", _tied(k, other, "1"),
                        0.5 * near, ("elements-bridged",), k),
                Suspect(f"elements {k} and {other} need each other: a space in one makes both space",
                        _tied(k, other, "0"), 0.3 * near, ("elements-bridged",), k),
            ]  # fmt: skip
    for k in every:
        for other in (n for n in (k - 1, k + 1) if 1 <= n <= 5):
            for value, name in (("1", "mark"), ("0", "space")):
                table += [
                    Suspect(f"element {k} is lost when element {other} is {name}",
                            _needs_neighbour(k, other, value, "0"), 0.3, ("fails-with-neighbour",), k),
                    Suspect(f"element {k} is false mark when element {other} is {name}",
                            _needs_neighbour(k, other, value, "1"), 0.3, ("fails-with-neighbour",), k),
                ]  # fmt: skip
    return table


SUSPECTS: tuple[Suspect, ...] = tuple(suspects())

#: What is left when no rule fits: it foretells nothing.
NONE_FITS = Suspect("nothing that is known fits", lambda sent, before: sent, 1.0, ())
