"""The lines of a machine as signed chains, one for each bench that wrote about it.

    bench A   1 <--- 2 <--------------- 4 <--- 5        each line names the line of its bench before it ("before"),
    bench B              3 <----- 6 (saw A's 2)         and the newest lines of the other benches it knew ("seen")

The fingerprint of a line covers what it names, and the bench signs the fingerprint. So nothing can be changed, taken
out, slipped in or dated back in the middle of a chain without showing, and what another bench has seen cannot be
rewritten at all. The end of a chain can be cut off unseen unless another bench has seen it.

Lines of one machine make chains of their own, so that a bundle of that machine carries them whole (decision 190).
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from tapewright.book.entry import Entry
from tapewright.book.signing import signature_is_good

#: what every message calls them
NOT_KNOWN = "not signed by a bench known here"
DOES_NOT_MATCH = "signature does not match"
BROKEN = "chain broken at"
#: stands for the bench of a line that nobody signed, where lines are put in order
NOBODY = "0" * 64
NO_TIME = "0" * 32
A_MICROSECOND = timedelta(microseconds=1)


@dataclass(frozen=True, slots=True)
class Linked:
    """What of a line its place in the book depends on.

    Attributes:
        key: its fingerprint.
        at: when it was written, in UTC.
        bench: who signed it; empty for nobody.
        seq: how many lines that bench had written into its book, with this one.
        before: the line of that bench about the machine before it.
        seen: newest lines of other benches about the machine.
    """

    key: str
    at: datetime
    bench: str = ""
    seq: int = 0
    before: str | None = None
    seen: tuple[str, ...] = ()


def in_order(lines: Sequence[Linked]) -> dict[str, str]:
    """Return for each line the text that it is sorted by: the same for the same lines, in whatever order they came.

    A line comes by its own time, never before what it names: a bench whose clock is slow does not get before what it
    has seen. Within a bench the order of writing counts.
    """
    by_key = {line.key: line for line in lines}
    times: dict[str, datetime] = {}
    for first in lines:
        stack = [first]
        while stack:
            line = stack[-1]
            named = [key for key in (line.before, *line.seen) if key in by_key]
            waiting = [by_key[key] for key in named if key not in times]
            if waiting and line.key not in times:
                stack += waiting
                continue
            stack.pop()
            if line.key not in times:
                times[line.key] = effective(line, {key: (by_key[key].bench, times[key]) for key in named})
    return {line.key: sort_text(line, times[line.key]) for line in lines}


def effective(line: Linked, named: Mapping[str | None, tuple[str, datetime]]) -> datetime:
    """Return the time that a line counts as written at: its own, but not before what it names."""
    return max([line.at, *(at if bench == line.bench else at + A_MICROSECOND for bench, at in named.values())])


def sort_text(line: Linked, at: datetime) -> str:
    """Return the text a line is sorted by: every part as long in every line."""
    return f"{at.astimezone(UTC).isoformat(timespec='microseconds')}|{line.bench or NOBODY}|{line.seq:012d}|{line.key}"


def time_of(text: str) -> datetime:
    """Return the time of a text that a line is sorted by."""
    return datetime.fromisoformat(text[:32])


@dataclass(frozen=True, slots=True)
class Chain:
    """What one bench wrote about one machine.

    Attributes:
        machine: key of the machine.
        bench: public key of the bench; empty for lines that nobody signed.
        name: what the bench is called here; empty when it is not known.
        lines: how many.
        faults: what is wrong, each beginning with one of the contract's words.
        remarks: what is worth knowing and is nothing wrong.
    """

    machine: str
    bench: str
    name: str
    lines: int
    faults: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()

    def __str__(self) -> str:
        """Say it in one sentence."""
        count = f"{self.lines} line{'s' * (self.lines != 1)}"
        if not self.bench:
            return f"{count} {NOT_KNOWN}: they carry no signature"
        by = f"signed by {self.name}" if self.name else f"{NOT_KNOWN} (key {self.bench[:12]})"
        if self.faults:
            return f"{count} {by}: {'; '.join(self.faults)}"
        return f"{count} whole, {by}"


def look_at_chains(entries: Iterable[Entry], known: Mapping[str, str], *, every: bool = False) -> tuple[Chain, ...]:
    """Look at all chains of some lines, machine by machine.

    Args:
        entries: all lines there are; each must be what its fingerprint says.
        known: benches known here: public key -> name.
        every: whether every signature is checked; otherwise those that no later line of the chain stands on.
    """
    by_bench: dict[tuple[str, str], list[Entry]] = {}
    for entry in entries:
        by_bench.setdefault((entry.new.machine, entry.link.bench if entry.link else ""), []).append(entry)
    begun: dict[str, datetime] = {}
    for (machine, bench), lines in by_bench.items():
        if bench:
            first = min(line.at for line in lines)
            begun[machine] = min(first, begun.get(machine, first))
    return tuple(
        _signed(machine, bench, known.get(bench, ""), lines, every=every)
        if bench
        else Chain(machine, "", "", len(lines), remarks=tuple(_unsigned(lines, begun.get(machine))))
        for (machine, bench), lines in sorted(by_bench.items())
    )


def _unsigned(lines: Sequence[Entry], begun: datetime | None) -> list[str]:
    late = [line for line in lines if begun is not None and line.at > begun]
    if not late:
        return []
    return [
        f"line {late[0].number} and {len(late) - 1} more carry no signature though the machine's lines were signed "
        "before they were written"
        if len(late) > 1
        else f"line {late[0].number} carries no signature though the machine's lines were signed before it was written"
    ]


def _signed(machine: str, bench: str, name: str, lines: Sequence[Entry], *, every: bool) -> Chain:
    """Hold each line against the one before it, and the signatures against the lines."""
    by_key = {line.key: line for line in lines}
    followed = Counter(line.link.before for line in lines if line.link)
    faults, remarks = [], []
    for line in sorted(lines, key=lambda each: each.number):
        link = line.link
        if link is None:
            continue
        before = by_key.get(link.before or "")
        if link.before and before is None:
            faults.append(f"{BROKEN} line {line.number}: the line before it is not here")
        elif before is not None and before.link and before.link.seq >= link.seq:
            faults.append(f"{BROKEN} line {line.number}: it counts as no later than the line before it")
        if before is not None and before.at > line.at:
            remarks.append(f"the clock went back before line {line.number}")
        if (every or not followed[line.key]) and not signature_is_good(bench, line.key, line.signature):
            faults.append(f"{DOES_NOT_MATCH} at line {line.number}")
    begins = [line for line in lines if line.link and line.link.before is None]
    parted = [by_key[key].number for key, count in followed.items() if key in by_key and count > 1]
    if parted or len(begins) > 1:
        where = f" after line {min(parted)}" if parted else ""
        remarks.append(f"the chain parts{where}: copies of one book were both written on")
    return Chain(machine, bench, name, len(lines), tuple(faults), tuple(dict.fromkeys(remarks)))
