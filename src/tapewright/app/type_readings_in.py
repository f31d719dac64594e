"""Type readings in from the bench form, box by box."""

from collections.abc import Callable, Iterable, Mapping

from tapewright.core.measurement import Verdict
from tapewright.core.mechanism.checking import judge_alone
from tapewright.core.mechanism.journal import Journal
from tapewright.core.mechanism.requirement import Requirement
from tapewright.core.mechanism.typing_in import Question, Said, TypingIn

#: hears, after each line, the state, what became of the line (None at the start) and how the reading stands alone
Tell = Callable[[TypingIn, Said | None, Verdict | None], None]


def type_readings_in(
    requirements: Mapping[str, Requirement], questions: tuple[Question, ...], lines: Iterable[str], tell: Tell
) -> Journal:
    """Ask box after box until all are gone past, the lines end or one says stop; give what was typed."""
    typing = TypingIn(questions)
    tell(typing, None, None)
    for line in lines:
        said = typing.type(line)
        entry = typing.answers[-1] if said is Said.TAKEN else None
        tell(typing, said, None if entry is None else judge_alone(requirements[entry.id], entry))
        if typing.current is None:
            break
    return typing.entries
