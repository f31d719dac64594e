"""A comparison of sent and received as the part `errors` of a document, the same for line and tape."""

from typing import Annotated

from tapewright.furniture.document import Document, figure, told
from tapewright.message.comparison import Comparison, Judged
from tapewright.message.kinds import ErrorKind
from tapewright.message.tally import Dependence, ElementTally, Loneliness


class WrongOf(Document, frozen=True):
    """How many were wrong, of how many."""

    wrong: int
    n: int


class AfterMarkOrSpace(Document, frozen=True):
    """Wrong elements after a mark and after a space in the same element of the character before."""

    after_mark: WrongOf
    after_space: WrongOf
    p_value: Annotated[float, told("Fisher's exact test, two-sided.")]


class LoneOrJoined(Document, frozen=True):
    """Wrong elements among lone ones and among the others."""

    lone: WrongOf
    joined: WrongOf
    p_value: Annotated[float, told("Fisher's exact test, two-sided.")]


class ElementErrors(Document, frozen=True):
    """What went wrong with one element."""

    element: int
    drop_mark: Annotated[int, figure("marks lost")]
    marks: int
    drop_space: Annotated[int, figure("spaces lost")]
    spaces: int
    drop_mark_by_previous: Annotated[AfterMarkOrSpace | None, told("Null when too few are wrong.")]
    drop_space_by_previous: AfterMarkOrSpace | None


class ReadAs(Document, frozen=True):
    """One code that was read as another."""

    sent: str
    received: str
    times: int


class Explanation(Document, frozen=True):
    """One cause that would explain the whole text, and how many characters stay wrong with it."""

    cause: str
    wrong: int


class Column(Document, frozen=True):
    """One place of the alignment."""

    sent: Annotated[str | None, told("Null for a character that was not sent.")]
    received: Annotated[str | None, told("Null for a character that did not come.")]
    kind: Annotated[str, told("The kind of error that fits best, or right.")]
    elements: Annotated[tuple[int, ...], told("Elements that came otherwise than sent.")]
    also: Annotated[tuple[str, ...], told("Other kinds that fit.")]


class Errors(Document, frozen=True):
    """What was expected against what came."""

    sent: Annotated[int, figure("characters sent")]
    received: Annotated[int, figure("characters received")]
    wrong: Annotated[int, figure("wrong", says="Changed, lost and extra characters.")]
    rate: Annotated[float | None, figure("share wrong")]
    rate_upper_95: Annotated[float, figure("share wrong, at most", says="Clopper-Pearson, one-sided, 95 %.")]
    kinds: dict[str, int]
    by_element: tuple[ElementErrors, ...]
    by_sent: dict[str, WrongOf]
    by_previous: dict[str, WrongOf]
    lone_marks: Annotated[LoneOrJoined | None, told("Marks alone between two spaces against other marks.")]
    lone_spaces: Annotated[LoneOrJoined | None, told("Spaces alone between two marks against other spaces.")]
    read_as: tuple[ReadAs, ...]
    explanations: Annotated[tuple[Explanation, ...], told("Best first; the last is the text as sent.")]
    alignment: tuple[Column, ...]
    alignment_proven: Annotated[bool, told("False: a very long text, and a cheaper alignment is not ruled out.")]


def errors(comparison: Comparison) -> Errors:
    """Return the part `errors` of a line or tape document."""
    counts, rate = comparison.tally, comparison.rate
    found = {kind.value: n for kind, n in counts.kinds.items()}
    return Errors(
        sent=comparison.sent,
        received=comparison.received,
        wrong=counts.wrong,
        rate=rate.rate,
        rate_upper_95=rate.upper_95,
        # every kind, so that a reader need not ask whether one was looked for
        kinds={kind.value: found.get(kind.value, 0) for kind in ErrorKind},
        by_element=tuple(_element(entry) for entry in counts.by_element),
        by_sent={code: WrongOf(*share) for code, share in counts.by_sent.items()},
        by_previous={code: WrongOf(*share) for code, share in counts.by_previous.items()},
        lone_marks=_loneliness(counts.lone_marks),
        lone_spaces=_loneliness(counts.lone_spaces),
        read_as=tuple(ReadAs(a, b, n) for (a, b), n in counts.read_as.items()),
        explanations=tuple(Explanation(e.cause, e.wrong) for e in comparison.explanations),
        alignment=tuple(_column(column) for column in comparison.columns),
        alignment_proven=comparison.alignment.proven,
    )


def _element(entry: ElementTally) -> ElementErrors:
    return ElementErrors(
        element=entry.element,
        drop_mark=entry.dropped_marks,
        marks=entry.marks,
        drop_space=entry.dropped_spaces,
        spaces=entry.spaces,
        drop_mark_by_previous=_dependence(entry.mark_dependence),
        drop_space_by_previous=_dependence(entry.space_dependence),
    )


def _dependence(found: Dependence | None) -> AfterMarkOrSpace | None:
    if found is None:
        return None
    return AfterMarkOrSpace(WrongOf(*found.after_mark), WrongOf(*found.after_space), found.p_value)


def _loneliness(found: Loneliness | None) -> LoneOrJoined | None:
    return None if found is None else LoneOrJoined(WrongOf(*found.lone), WrongOf(*found.joined), found.p_value)


def _column(column: Judged) -> Column:
    best, others = (column.fits[0], column.fits[1:]) if column.fits else (None, ())
    return Column(
        column.pair.sent,
        column.pair.received,
        best.kind.value if best else "right",
        tuple(best.elements) if best else (),
        tuple(fit.kind.value for fit in others),
    )
