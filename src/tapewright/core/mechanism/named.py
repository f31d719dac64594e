"""Whether words that somebody wrote name a requirement: the same words as its id or its title, in any order."""

import re

#: Words that tell no thing from another.
EMPTY_WORDS = frozenset({"and", "its", "the", "of", "to", "main", "a"})


def words_in(text: object) -> frozenset[str]:
    """Give the words of a text that tell things apart: small letters, without the s of a plural."""
    found = re.findall(r"\w+", str(text or "").casefold().replace("_", " "))
    return frozenset(word.removesuffix("s") for word in found if word not in EMPTY_WORDS)


def is_named(text: object, *names: object) -> bool:
    """Say whether a text holds the same words as one of the names."""
    said = words_in(text)
    return bool(said) and said in map(words_in, names)
