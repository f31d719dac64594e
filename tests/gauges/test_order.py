"""The order of adjustment against a general graph library, and properties that must hold for every sheet."""

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st

from tapewright.gauges.checking import check
from tapewright.gauges.journal import Entry
from tapewright.gauges.order import order_of
from tapewright.gauges.requirement import Ends, LimitKind, Requirement, Sheet, Stage
from tapewright.number import Source, Standing

SOURCE = Source("made-up example", "", Standing.OWNER)
MOST = 9


def requirement(n, depends_on=(), upsets=(), stage=Stage.CLEARANCE):
    return Requirement(
        id=f"r{n}", station="s", what="w", stage=stage, kind=LimitKind.BOTH, unit="mm", test=Ends(0.1, 0.2),
        source=SOURCE, gauge_u=0.001,
        depends_on=tuple(f"r{d}" for d in depends_on), upsets=tuple(f"r{u}" for u in upsets),
    )  # fmt: skip


@st.composite
def sheets(draw):
    """Any sheet: dependencies and upsets may form rings."""
    n = draw(st.integers(1, MOST))
    others = [sorted(set(range(n)) - {k}) for k in range(n)]
    pick = [st.sets(st.sampled_from(o), max_size=3) if o else st.just(set()) for o in others]
    return Sheet(
        "any",
        tuple(
            requirement(k, sorted(draw(pick[k])), sorted(draw(pick[k])), draw(st.sampled_from(list(Stage))))
            for k in range(n)
        ),
    )


def graph_of(sheet, upsets=True):
    graph = nx.DiGraph()
    graph.add_nodes_from(r.id for r in sheet.requirements)
    graph.add_edges_from((d, r.id) for r in sheet.requirements for d in r.depends_on)
    if upsets:
        graph.add_edges_from((r.id, u) for r in sheet.requirements for u in r.upsets)
    return graph


@given(sheets())
def test_whatever_can_be_ordered_is_in_topological_order(sheet):
    order, graph = order_of(sheet), graph_of(sheet)
    assert sorted(order.ids) == sorted(graph)
    group = {id_: n for n, ids in enumerate(nx.strongly_connected_components(graph)) for id_ in ids}
    place = {id_: n for n, id_ in enumerate(order.ids)}
    for a, b in graph.edges:
        assert group[a] == group[b] or place[a] < place[b]


@given(sheets())
def test_loops_are_the_strongly_connected_components_and_the_ring_is_real(sheet):
    order, graph = order_of(sheet), graph_of(sheet)
    expected = {frozenset(ids) for ids in nx.strongly_connected_components(graph) if len(ids) > 1}
    assert {frozenset(loop) for loop in order.loops} == expected
    for loop in order.loops:
        assert graph.has_edge(loop[0], loop[1])


@given(sheets())
def test_recheck_is_everything_downstream(sheet):
    order, graph = order_of(sheet), graph_of(sheet)
    for id_ in graph:
        assert set(order.recheck[id_]) == nx.descendants(graph, id_)
        assert set(order.needs[id_]) == nx.ancestors(graph_of(sheet, upsets=False), id_)


@given(sheets())
def test_with_no_rings_the_order_is_one_the_library_accepts(sheet):
    graph = graph_of(sheet)
    if nx.is_directed_acyclic_graph(graph):
        key = {r.id: (list(Stage).index(r.stage), n) for n, r in enumerate(sheet.requirements)}
        assert list(order_of(sheet).ids) == list(nx.lexicographical_topological_sort(graph, key=key.__getitem__))


@given(sheets(), st.data())
def test_next_never_has_an_open_prerequisite_and_rechecks_are_the_graphs(sheet, data):
    """Read and change at random; after each entry the advice and the recheck list must hold."""
    graph, hard = graph_of(sheet), graph_of(sheet, upsets=False)
    ids = [r.id for r in sheet.requirements]
    journal, owed = [], set()
    for _ in range(data.draw(st.integers(0, 12))):
        id_ = data.draw(st.sampled_from(ids))
        kind = data.draw(st.sampled_from(["good", "bad", "change"]))
        if kind == "change":
            journal.append(Entry(id_, changed="a quarter turn"))
            owed |= {id_} | nx.descendants(graph, id_)
        else:
            journal.append(Entry(id_, value=0.15 if kind == "good" else 0.5))
            owed -= {id_}
        result = check(sheet, tuple(journal))
        assert set(result.recheck) == owed
        closed = {c.requirement.id for c in result.checked if c.closed}
        if result.next is None:
            assert closed == set(ids)
            continue
        assert result.next.id not in closed
        still_open = nx.ancestors(hard, result.next.id) - closed
        in_its_ring = next(c for c in nx.strongly_connected_components(hard) if result.next.id in c)
        assert still_open <= in_its_ring, "a step was recommended before what it stands on"
