"""A value that cannot be changed once it is made, and is no dataclass.

Documents are encoded field by field wherever a field is a dataclass; a reading or a verdict is written in the
contract's own way instead (furniture/document.py), and for that the encoder must see a type it does not know.
"""

from typing import Any, NoReturn, Self


class Fixed:
    """Base of a value with `__slots__`; its `__init__` ends with `_fix`. Equal when all slots are."""

    __slots__: tuple[str, ...] = ()

    def _fix(self, **values: object) -> None:
        for name, value in values.items():
            object.__setattr__(self, name, value)

    def __setattr__(self, name: str, value: object) -> NoReturn:
        raise AttributeError(f"{type(self).__name__} cannot be changed; `but({name}=...)` makes another")

    def _values(self) -> dict[str, Any]:
        return {name: getattr(self, name) for name in self.__slots__}

    def but(self, **changes: Any) -> Self:
        """Return the same value with these attributes changed."""
        return type(self)(**(self._values() | changes))

    def __eq__(self, other: object) -> bool:
        return type(other) is type(self) and all(getattr(self, n) == getattr(other, n) for n in self.__slots__)

    def __hash__(self) -> int:
        return hash(tuple(self._values().values()))

    def __repr__(self) -> str:
        inside = ", ".join(f"{name}={value!r}" for name, value in self._values().items())
        return f"{type(self).__name__}({inside})"

    def __reduce__(self) -> tuple[Any, ...]:
        return _made_again, (type(self), self._values())


def _made_again(kind: Any, values: dict[str, Any]) -> Any:
    return kind(**values)
