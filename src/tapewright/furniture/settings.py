"""The settings of a command: one record, from which its options, its form fields and its keywords come.

    @dataclass(frozen=True, kw_only=True)
    class LineSettings(Settings):
        nominal: float | None = setting(Number(10, 400, "Bd"), "Speed it should have", None, unset="auto")
        idle: str = setting(Choice(("auto", "high", "low")), "Level of the line at rest (mark)", "auto")

    @click_options(LineSettings)                    the command gets them as `settings`     (options.py)
    form_fields(LineSettings)                       what a form shows
    from_form(LineSettings, fields)                 what was filled in
    from_keywords(LineSettings, nominal=45.45)      the public API
    to_steps(settings), from_steps(...)             what the book keeps, so that it can measure again

Whatever the way, the record reads each value with its kind when it is made, and looks whether they go together in
`check`. So nothing is allowed at one door and refused at another, and the words of the refusal are the same.
"""

import dataclasses
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, TypeVar

from tapewright.errors import InputError, WrongUseError
from tapewright.furniture.kinds import Kind, NotOfKindError

T = TypeVar("T")
D = TypeVar("D")
S = TypeVar("S", bound="Settings")

_KEY = "tapewright"


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting, as the doors see it.

    Attributes:
        name: of the record's field.
        kind: what it may hold.
        label: what it is, in a mechanic's words; a form shows it.
        help: a sentence for the command's help and below a form's field.
        default: value when nothing is given.
        key: its name in a form, in a file and in the book.
        option: its options at the command, for example ("--rate",) or ("-o", "--out").
        unset: the word that stands for nothing given, for example "auto"; empty for none.
        show_default: whether the command's help tells the default.
        page: whether a form asks for it.
        hint: what stands in a form's field while it is empty.
        metavar: what stands for its value in the command's help.
    """

    name: str
    kind: Kind[Any]
    label: str
    help: str
    default: object
    key: str
    option: tuple[str, ...]
    unset: str
    show_default: bool
    page: bool
    hint: str
    metavar: str

    def read(self, given: object) -> object:
        """Return the value of what was given.

        Raises:
            RefusedError: when it cannot be.
        """
        unset = self.unset and isinstance(given, str) and given.strip() == self.unset
        if given is None or given is self.default or unset:
            return self.default
        try:
            return self.kind.read(given)
        except NotOfKindError as reason:
            or_unset = f"{self.unset} or " if self.unset else ""
            raise RefusedError(self.name, f"{or_unset}{reason.expected}", reason.found) from None

    def write(self, value: object) -> str:
        """Return the value as a text that reads back the same; the default of a setting without a value is empty."""
        return self.unset if value is None else self.kind.write(value)


class RefusedError(ValueError):
    """A setting that cannot be, alone or with the others; each door says whose words it is."""

    def __init__(self, name: str, expected: str, found: str, do: str = "") -> None:
        self.name, self.expected, self.found, self.do = name, expected, found, do
        super().__init__(f"expected {expected}; found {found}." + (f" {do}" if do else ""))


def setting(
    kind: Kind[T],
    label: str,
    default: D,
    help: str = "",
    *,
    key: str = "",
    option: str | tuple[str, ...] = (),
    unset: str = "",
    show_default: bool | None = None,
    page: bool = True,
    hint: str = "",
    metavar: str = "",
) -> T | D:
    """Return a field of a settings record; the rest is as in `Setting`.

    Args:
        kind: what it may hold.
        label: what it is.
        default: value when nothing is given.
        help: a sentence for the command; the label where there is none.
        key: name in forms, files and the book; the field's own where there is none.
        option: at the command; "--" and the field's name where there is none.
        unset: word for nothing given.
        show_default: None for yes where there is a default that is not empty.
        page: whether a form asks for it.
        hint: what stands in an empty field.
        metavar: for the command's help.
    """
    options = (option,) if isinstance(option, str) else option
    told = default not in (None, False, (), "") or bool(unset) if show_default is None else show_default
    part = Setting(
        "",
        kind,
        label,
        help or f"{label}.",
        default,
        key,
        options,
        unset,
        told,
        page and bool(kind.asked),
        hint,
        metavar,
    )
    made: T | D = dataclasses.field(default=default, metadata={_KEY: part})
    return made


@dataclass(frozen=True, kw_only=True)
class Settings:
    """Base of the records; what is given is read and checked when one is made.

    Raises:
        RefusedError: for a value that cannot be.
    """

    def __post_init__(self) -> None:
        for each in settings_in(type(self)):
            object.__setattr__(self, each.name, each.read(getattr(self, each.name)))
        self.check()

    def check(self) -> None:
        """Raise RefusedError where values do not go together."""


def settings_in(kind: type[Settings]) -> tuple[Setting, ...]:
    """Return the settings of a record, in order."""
    return tuple(_named(each.name, each.metadata[_KEY]) for each in dataclasses.fields(kind) if _KEY in each.metadata)


def _named(name: str, part: Setting) -> Setting:
    plain = name.rstrip("_")
    return dataclasses.replace(
        part, name=name, key=part.key or plain, option=part.option or (f"--{plain.replace('_', '-')}",)
    )


def from_keywords(kind: type[S], **given: object) -> S:
    """Return the settings of keywords; None stands for nothing given.

    Raises:
        WrongUseError: names the keyword, what was expected and found.
    """
    unknown = sorted(set(given) - {each.name for each in settings_in(kind)})
    if unknown:
        names = ", ".join(each.name for each in settings_in(kind))
        raise WrongUseError(f"{unknown[0]}: expected one of the settings {names}; found another.")
    with refusing(kind, lambda part, refused: WrongUseError(f"{part.name}: {refused}")):
        return kind(**given)


def from_form(kind: type[S], fields: Mapping[str, str]) -> S:
    """Return the settings of a form's fields; an empty field is not given, and fields of others are passed over.

    Raises:
        InputError: names the field, what was expected and found.
    """
    given: dict[str, object] = {}
    for each in settings_in(kind):
        text = fields.get(each.key, "")
        if each.page and text.strip():
            given[each.name] = text
    with refusing(kind, _form_refusal):
        return kind(**given)


def _form_refusal(part: Setting, refused: RefusedError) -> InputError:
    place, do = f"field {part.label!r}", refused.do
    return InputError("the form", place=place, expected=refused.expected, found=refused.found, do=do)


@contextmanager
def refusing(kind: type[Settings], worded: Callable[[Setting, RefusedError], Exception]) -> Iterator[None]:
    """Turn a refusal into the error of a door."""
    try:
        yield
    except RefusedError as refused:
        part = next(each for each in settings_in(kind) if each.name == refused.name)
        raise worded(part, refused) from None


def to_steps(settings: Settings) -> dict[str, Any]:
    """Return the settings as the book keeps them, in JSON's own types; what is not set is left out."""
    kept: dict[str, Any] = {}
    for each in settings_in(type(settings)):
        value = getattr(settings, each.name)
        if not (value is None or value is False or value == () or value == ""):
            kept[each.key] = each.kind.kept(value)
    return kept


def from_steps(kind: type[S], steps: Mapping[str, Any], source: str = "the book") -> S:
    """Return the settings that the book kept, of this version or an older one.

    Raises:
        InputError: names the setting that this version does not take.
    """
    given = {each.name: steps[each.key] for each in settings_in(kind) if steps.get(each.key) not in (None, "")}

    def worded(part: Setting, refused: RefusedError) -> InputError:
        return InputError(source, place=f"setting {part.key!r}", expected=refused.expected, found=refused.found)

    with refusing(kind, worded):
        return kind(**given)


@dataclass(frozen=True, slots=True)
class FormField:
    """One field of a form, for a template.

    Attributes:
        key: its name.
        label: what it is.
        help: a sentence below it; may be empty.
        kind: "number", "text", "long text", "choice" or "flag".
        value: what stands in it.
        hint: what stands in it while it is empty.
        expected: what may stand in it.
        choices: word and what it is called, for a choice.
    """

    key: str
    label: str
    help: str
    kind: str
    value: str
    hint: str
    expected: str
    choices: tuple[tuple[str, str], ...]


def form_fields(kind: type[Settings], filled: Mapping[str, str] | None = None) -> tuple[FormField, ...]:
    """Return the fields of a form.

    Args:
        kind: the settings it asks for.
        filled: key -> what was filled in; None for an empty form, in which choices show their defaults.
    """
    return tuple(_form_field(each, filled) for each in settings_in(kind) if each.page)


def _form_field(part: Setting, filled: Mapping[str, str] | None) -> FormField:
    default = "" if part.default is None else part.write(part.default)
    chosen = part.kind.asked in ("choice", "flag")
    value = (filled or {}).get(part.key, default if chosen and filled is None else "")
    hint = part.hint or part.unset or ("" if chosen else default)
    words = tuple(part.kind.words.items())
    choices = (("", part.unset), *words) if words and part.default is None else words
    told = "" if part.help == f"{part.label}." else part.help
    return FormField(part.key, part.label, told, part.kind.asked, value, hint, part.kind.expected, choices)
