"""Read one table of a model file, and refuse clearly what does not fit."""

from collections.abc import Container, Iterable, Mapping

from tapewright.errors import InputError


class TableReader:
    """Reads one table with clear refusals."""

    def __init__(self, source: str, place: str, table: object) -> None:
        if not isinstance(table, Mapping):
            raise InputError(source, place=place, expected="a table", found=repr(table), do="Mend the model file.")
        self.source, self.place, self.table = source, place, table

    def refuse(self, key: str, expected: str, found: object) -> InputError:
        """Give the refusal of one key."""
        place = f"{self.place}.{key}" if key else self.place
        return InputError(self.source, place=place, expected=expected, found=repr(found), do="Mend the model file.")

    def keys(self, required: set[str], allowed: set[str]) -> None:
        """Refuse missing and unknown keys."""
        for key in sorted(required - set(self.table)):
            raise self.refuse("", f"a key {key!r}", sorted(self.table))
        for key in sorted(set(self.table) - required - allowed):
            raise self.refuse(key, "one of " + ", ".join(sorted(required | allowed)), key)

    def text(self, key: str, default: str | None = None) -> str:
        """Give a text."""
        value = self.table.get(key, default)
        if not isinstance(value, str) or (default is None and not value.strip()):
            raise self.refuse(key, "some text", value)
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        """Give a list of texts."""
        value = self.table.get(key, [])
        if not isinstance(value, list) or not all(isinstance(each, str) and each for each in value):
            raise self.refuse(key, "a list of texts", value)
        return tuple(value)

    def number(self, key: str, default: float | None = None) -> float:
        """Give a number above 0."""
        value = self.table.get(key, default)
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value < 1e6:
            raise self.refuse(key, "a number above 0", value)
        return float(value)

    def flag(self, key: str) -> bool:
        """Give true or false."""
        value = self.table.get(key, False)
        if not isinstance(value, bool):
            raise self.refuse(key, "true or false", value)
        return value

    def one_of(self, key: str, words: Iterable[str], default: str | None = None) -> str:
        """Give a text that is one of the words."""
        value, words = self.text(key, default), list(words)
        if value not in words:
            raise self.refuse(key, "one of " + ", ".join(words), value)
        return value

    def known(self, key: str, names: tuple[str, ...], where: Container[str], kind: str) -> tuple[str, ...]:
        """Give names that all lead somewhere."""
        for name in names:
            if name not in where:
                raise self.refuse(key, f"the name of a {kind}", name)
        return names
