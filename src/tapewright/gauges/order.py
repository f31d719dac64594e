r"""The order of adjustment: a graph of what must be right first, and of what upsets what.

Picture (an arrow leads from what is done sooner to what is done later):

    A  <- depends_on -  B        A ---> B      B is measured from A, so A comes first
    A  -  upsets     -> C        A ---> C      setting A moves C, so C comes after it

After a change of A everything that an arrow path reaches from A must be measured again: what A moves may
move what depends on it in turn. Things that lie on a loop of arrows cannot be put in order; they are named
as a loop and set together, by trim.
"""

import heapq
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from tapewright.gauges.requirement import STAGE_RANK, Sheet

Graph = Mapping[str, Sequence[str]]


class Reached(Mapping[str, tuple[str, ...]]):
    """For each id everything an arrow path leads to, itself left out, in the order of the ids.

    Kept as bits of one integer for each id; names are looked up when somebody asks, since all of them together grow
    with the square of the sheet.
    """

    def __init__(self, ids: Sequence[str], bits: Mapping[str, int]) -> None:
        self._ids, self._bits = ids, bits

    def __getitem__(self, id_: str) -> tuple[str, ...]:
        signs = reversed(f"{self._bits[id_]:0{len(self._ids)}b}")
        return tuple(name for name, sign in zip(self._ids, signs, strict=True) if sign == "1")

    def __iter__(self) -> Iterator[str]:
        return iter(self._ids)

    def __len__(self) -> int:
        return len(self._ids)

    @property
    def names(self) -> int:
        """How many names there are for all ids together."""
        return sum(bits.bit_count() for bits in self._bits.values())


@dataclass(frozen=True, slots=True)
class Order:
    """The graph's answers for one sheet.

    Attributes:
        ids: every id once; whatever can be put in order is (stage of work, then order in the sheet, break ties).
        later: id -> ids directly after it (depends on it, or is upset by it).
        needs: id -> every id that must be right before it, directly or through others, itself left out.
        recheck: id -> every id to measure again after it was changed, in order, itself left out.
        loops: groups of ids that upset each other in a ring, each as one way round it.
    """

    ids: tuple[str, ...]
    later: dict[str, tuple[str, ...]]
    needs: Mapping[str, tuple[str, ...]]
    recheck: Reached
    loops: tuple[tuple[str, ...], ...]

    def loop_of(self, id_: str) -> tuple[str, ...]:
        """Return the loop an id lies on, empty when it lies on none."""
        return next((loop for loop in self.loops if id_ in loop), ())


def order_of(sheet: Sheet) -> Order:
    """Work out the order of a sheet whose references all exist."""
    sooner_later = _graph(sheet, with_upsets=True)
    hard = _graph(sheet, with_upsets=False)
    place = {r.id: (STAGE_RANK[r.stage], n) for n, r in enumerate(sheet.requirements)}
    groups = _in_order(sooner_later, place)
    ids: list[str] = []
    for group in groups:
        ids += _inside_loop(group, hard, place)
    rank = {id_: n for n, id_ in enumerate(ids)}
    after, before = reachable(sooner_later, ids), reachable(_reversed(hard), ids)
    return Order(
        tuple(ids),
        {id_: tuple(later) for id_, later in sooner_later.items()},
        before,
        after,
        tuple(_way_round(group, sooner_later, rank) for group in groups if len(group) > 1),
    )


def reachable(graph: Graph, ids: Sequence[str]) -> Reached:
    """Return what an arrow path leads to from each id; `ids` gives the order.

    Group by group from the latest on, what a group reaches is its members and what its successors reach.
    """
    bit = {id_: 1 << n for n, id_ in enumerate(ids)}
    reach: dict[str, int] = {}
    for group in strong_groups(graph):
        bits = sum(bit[id_] for id_ in group) if len(group) > 1 else 0
        for to in {to for id_ in group for to in graph[id_]}:
            bits |= bit[to] | reach.get(to, 0)
        reach.update(dict.fromkeys(group, bits))
    return Reached(ids, {id_: reach[id_] & ~bit[id_] for id_ in ids})


def strong_groups(graph: Graph) -> list[list[str]]:
    """Split a graph into groups whose members all reach each other (Tarjan 1972), later groups first."""
    index: dict[str, int] = {}
    lowest: dict[str, int] = {}
    stack: list[str] = []
    on_stack: set[str] = set()
    groups: list[list[str]] = []
    for root in graph:
        if root in index:
            continue
        # each piece of work: a node and the arrows of it not yet followed; no recursion, sheets may be long
        work = [(root, iter(graph[root]))]
        index[root] = lowest[root] = len(index)
        stack.append(root)
        on_stack.add(root)
        while work:
            here, arrows = work[-1]
            step = next(arrows, None)
            if step is None:
                work.pop()
                if work:
                    lowest[work[-1][0]] = min(lowest[work[-1][0]], lowest[here])
                if lowest[here] == index[here]:
                    groups.append(_pop_group(stack, on_stack, here))
            elif step not in index:
                index[step] = lowest[step] = len(index)
                stack.append(step)
                on_stack.add(step)
                work.append((step, iter(graph[step])))
            elif step in on_stack:
                lowest[here] = min(lowest[here], index[step])
    return groups


def _pop_group(stack: list[str], on_stack: set[str], root: str) -> list[str]:
    group = []
    while True:
        member = stack.pop()
        on_stack.discard(member)
        group.append(member)
        if member == root:
            return group


def _graph(sheet: Sheet, *, with_upsets: bool) -> dict[str, list[str]]:
    graph: dict[str, list[str]] = {r.id: [] for r in sheet.requirements}
    for r in sheet.requirements:
        for before in r.depends_on:
            graph[before].append(r.id)
        if with_upsets:
            graph[r.id] += r.upsets
    return {id_: list(dict.fromkeys(later)) for id_, later in graph.items()}


def _reversed(graph: Graph) -> dict[str, list[str]]:
    backwards: dict[str, list[str]] = {id_: [] for id_ in graph}
    for id_, later in graph.items():
        for other in later:
            backwards[other].append(id_)
    return backwards


def _in_order(graph: Graph, place: Mapping[str, tuple[int, int]]) -> list[list[str]]:
    """Put the strong groups in order; among those that are ready the smallest `place` goes first (Kahn 1962)."""
    groups = strong_groups(graph)
    group_of = {id_: n for n, group in enumerate(groups) for id_ in group}
    later = [{group_of[to] for id_ in group for to in graph[id_]} - {n} for n, group in enumerate(groups)]
    waits_for = [0] * len(groups)
    for after in later:
        for n in after:
            waits_for[n] += 1
    first = [min(place[id_] for id_ in group) for group in groups]
    ready = [(first[n], n) for n, count in enumerate(waits_for) if count == 0]
    heapq.heapify(ready)
    done = []
    while ready:
        _, n = heapq.heappop(ready)
        done.append(groups[n])
        for after_n in later[n]:
            waits_for[after_n] -= 1
            if waits_for[after_n] == 0:
                heapq.heappush(ready, (first[after_n], after_n))
    return done


def _inside_loop(group: list[str], hard: Graph, place: Mapping[str, tuple[int, int]]) -> list[str]:
    """Order the members of one group by what must be right first alone; a ring of those goes by `place`."""
    if len(group) == 1:
        return group
    members = set(group)
    inner = {id_: [to for to in hard[id_] if to in members] for id_ in sorted(group, key=place.__getitem__)}
    return [id_ for part in _in_order(inner, place) for id_ in sorted(part, key=place.__getitem__)]


def _way_round(group: Iterable[str], graph: Graph, rank: Mapping[str, int]) -> tuple[str, ...]:
    """Return a shortest ring through the first member, then the members the ring leaves out."""
    members = sorted(group, key=rank.__getitem__)
    inside, start = set(members), members[0]
    came_from: dict[str, str] = {}
    waiting = [start]
    for here in waiting:
        for to in graph[here]:
            if to in inside and to not in came_from:
                came_from[to] = here
                waiting.append(to)
    ring, here = [start], came_from[start]
    while here != start:
        ring.append(here)
        here = came_from[here]
    ring[1:] = reversed(ring[1:])
    return (*ring, *(id_ for id_ in members if id_ not in ring))
