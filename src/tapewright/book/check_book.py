"""Check a book: what the database says of itself, every line, every raw file, all that is named: `book check`."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Protocol

from tapewright.book.chains import Chain, Linked, in_order, look_at_chains
from tapewright.book.entry import Entry
from tapewright.book.soundness import Fault, LineFound, MachineWhole, Soundness, whole_line
from tapewright.furniture.record import Progress

SHORT = 12


class Looker(Protocol):
    """Looks through a book that may be damaged."""

    def of_the_database(self) -> Iterator[Fault]:
        """Return what the database finds wrong with itself."""
        ...

    def lines(self) -> Iterator[LineFound]:
        """Return every line, and every one that cannot be read."""
        ...

    def raw_files(self) -> Mapping[str, int]:
        """Return the raw files there are with their lengths."""
        ...

    def raw_fault(self, sha256: str, length: int) -> str:
        """Say what is wrong with a raw file."""
        ...

    def shelf(self) -> Sequence[tuple[str, str, str, int]]:
        """Return key, name, model and number of lines of each machine."""
        ...

    def beside(self, entry: Entry, found: LineFound) -> Iterator[str]:
        """Say where a line is filed wrongly."""
        ...

    def links(self) -> Callable[[Entry, int], Iterator[str]]:
        """Return what says where a line's lists are wrong."""
        ...


@dataclass(slots=True)
class _Tally:
    faults: list[Fault] = field(default_factory=list)
    found: int = 0
    whole: int = 0
    newest: int = 0
    by_machine: dict[str, int] = field(default_factory=dict)
    whole_by_machine: dict[str, int] = field(default_factory=dict)
    keys: set[str] = field(default_factory=set)
    named: dict[str, int] = field(default_factory=dict)
    files: set[str] = field(default_factory=set)
    thin: list[Entry] = field(default_factory=list)
    sorted_by: dict[str, str] = field(default_factory=dict)

    def place(self, entry: Entry, found: LineFound) -> None:
        """Note where a line stands; of the line itself only what its chain needs."""
        bare = replace(entry.new, body={})
        self.thin.append(replace(entry, new=bare))
        if "sorted_by" in found.columns:
            self.sorted_by[entry.key] = found.columns["sorted_by"] or ""

    def fault(self, place: str, what: str) -> None:
        """Note a fault."""
        self.faults.append(Fault(place, what))


def check_book(looker: Looker, progress: Progress, known: Mapping[str, str] = MappingProxyType({})) -> Soundness:
    """Look through the whole book.

    Args:
        looker: what looks.
        progress: told how much is done; raw files take most of the time.
        known: benches known here: public key -> name.
    """
    tally = _Tally(list(looker.of_the_database()))
    lengths = looker.raw_files()
    lost = _check_raw(looker, lengths, tally, progress)
    _check_lines(looker, lengths, lost, tally)
    machines = _check_shelf(looker, tally)
    _check_order(tally)
    chains = look_at_chains(tally.thin, known, every=True)
    for chain in chains:
        for fault in chain.faults:
            tally.fault(f"machine {_name(machines, chain.machine)}", fault)
    return Soundness(
        lines=max(tally.found, tally.newest),
        whole_lines=tally.whole,
        raw_files=len(lengths),
        whole_raw_files=len(lengths) - len(lost),
        machines=machines,
        faults=tuple(tally.faults),
        remarks=(*_remarks(lengths, tally), *_of_chains(chains, machines)),
        chains=chains,
    )


def _check_raw(looker: Looker, lengths: Mapping[str, int], tally: _Tally, progress: Progress) -> set[str]:
    """Return the raw files that are not whole."""
    lost: set[str] = set()
    total, done = sum(lengths.values()) or 1, 0
    for sha256, length in sorted(lengths.items()):
        fault = looker.raw_fault(sha256, length)
        if fault:
            lost.add(sha256)
            tally.fault(f"raw file {sha256[:SHORT]}", fault)
        done += length
        progress(done / total)
    return lost


def _check_lines(looker: Looker, lengths: Mapping[str, int], lost: set[str], tally: _Tally) -> None:
    in_lists = looker.links()
    for found in looker.lines():
        place = f"line {found.number}"
        for missing in range(tally.newest + 1, found.number):
            tally.fault(f"line {missing}", "it is missing: numbers have no gaps")
        tally.newest, tally.found = max(tally.newest, found.number), tally.found + 1
        entry = whole_line(found)
        if isinstance(entry, str):
            tally.fault(place, entry)
            continue
        place = f"line {entry.number}"
        for fault in (*looker.beside(entry, found), *in_lists(entry, found.number)):
            tally.fault(place, fault)
        tally.place(entry, found)
        _note(entry, place, lengths, lost, tally)


def _note(entry: Entry, place: str, lengths: Mapping[str, int], lost: set[str], tally: _Tally) -> None:
    new = entry.new
    tally.keys.add(entry.key)
    tally.files.update(new.files)
    tally.by_machine[new.machine] = tally.by_machine.get(new.machine, 0) + 1
    for key in [*new.rests_on, *([new.replaces] if new.replaces else [])]:
        tally.named.setdefault(key, entry.number)
    gone = [sha256 for sha256 in new.files if sha256 in lost or sha256 not in lengths]
    for sha256 in gone:
        why = "is damaged" if sha256 in lost else "is not there"
        tally.fault(place, f"its text is whole, but the raw file {sha256[:SHORT]} it rests on {why}")
    if not gone:
        tally.whole += 1
        tally.whole_by_machine[new.machine] = tally.whole_by_machine.get(new.machine, 0) + 1


def _check_shelf(looker: Looker, tally: _Tally) -> tuple[MachineWhole, ...]:
    machines = []
    for key, name, _, count in looker.shelf():
        there = tally.by_machine.get(key, 0)
        if there > count or (there < count and not tally.faults):
            tally.fault(f"machine {name}", f"the shelf counts {count} lines, and there are {there}")
        machines.append(MachineWhole(key, name, max(count, there), tally.whole_by_machine.get(key, 0)))
    known = {machine.key for machine in machines}
    for key, there in tally.by_machine.items():
        if key not in known:
            tally.fault(f"machine {key}", "lines are about it, and it is not on the shelf")
            machines.append(MachineWhole(key, key, there, tally.whole_by_machine.get(key, 0)))
    return tuple(machines)


def _check_order(tally: _Tally) -> None:
    """See that lines are filed in the order of time, numbered without a gap."""
    if not tally.sorted_by:
        return
    order = in_order([_linked(entry) for entry in tally.thin])
    right = {key: place for place, key in enumerate(sorted(order, key=order.__getitem__), start=1)}
    whole = not tally.faults
    for entry in tally.thin:
        # where lines are lost, the places of the others cannot be counted
        if order[entry.key] != tally.sorted_by[entry.key] and whole:
            tally.fault(f"line {entry.number}", "it is filed under another time than its own")
        elif whole and right[entry.key] != entry.number:
            tally.fault(f"line {entry.number}", f"it is filed there, and is line {right[entry.key]}")


def _linked(entry: Entry) -> Linked:
    link = entry.link
    if link is None:
        return Linked(entry.key, entry.at)
    return Linked(entry.key, entry.at, link.bench, link.seq, link.before, link.seen)


def _name(machines: Sequence[MachineWhole], key: str) -> str:
    return next((machine.name for machine in machines if machine.key == key), key)


def _of_chains(chains: Sequence[Chain], machines: Sequence[MachineWhole]) -> Iterator[str]:
    for chain in chains:
        name = _name(machines, chain.machine)
        if not (chain.bench and chain.name):
            yield f"{name}: {chain}."
        yield from (f"{name}: {remark}." for remark in chain.remarks)


def _remarks(lengths: Mapping[str, int], tally: _Tally) -> Iterator[str]:
    outside = [number for key, number in tally.named.items() if key not in tally.keys]
    if outside and not tally.faults:
        first = f"the first is named in line {min(outside)}"
        yield f"{len(outside)} lines that others name are not here ({first}): no bundle has brought them."
    unused = set(lengths) - tally.files
    if unused and not tally.faults:
        yield f"{len(unused)} raw files belong to no line."
