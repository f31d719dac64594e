"""Check the tables of a machine model and make it: every reference must lead somewhere, every word must be known.

The tables come as read from TOML, already merged from their files. Nothing is guessed: what does not fit is
refused with its place, what was expected and what was found.
"""

from collections.abc import Container, Iterable, Mapping
from typing import TypeAlias, TypeVar

from tapewright.advisor.machine_model import DEPTHS, RISKS, STANDING, Cause, Danger, Finding, Model, Test
from tapewright.advisor.measured import RULES
from tapewright.advisor.vocabulary import vocabulary
from tapewright.errors import InputError

Table: TypeAlias = Mapping[str, object]
W = TypeVar("W", bound=str)

#: kind -> keys that must be there, and keys that may be; strength words come on top for causes.
KEYS: dict[str, tuple[set[str], set[str]]] = {
    "cause": (
        {"station", "prior", "says", "do", "minutes"},
        {"depth", "cautions", "source"},
    ),
    "finding": (
        {"says", "ask", "seen", "by"},
        {"words", "denied_by", "leak", "test", "condition_of", "clears", "measured", "follows"}
        | {"minutes", "risk", "depth", "power", "cautions", "needs"},
    ),
    "danger": ({"says", "do", "forbids"}, {"findings", "words"}),
    "test": ({"do", "minutes"}, {"risk", "depth", "cautions", "needs", "opens"}),
}  # fmt: skip
#: What a question that is put to a running machine needs on record first.
POWER_GATE = "dead electrical check"
#: risk of a test, "eye" for a look, or depth of a remedy -> cautions it has where the file names none
ALWAYS: dict[str, tuple[str, ...]] = {
    "power": ("moving",), "loop": ("loop", "mains"), "hand": ("hand",), "eye": ("look",),
    "covers": ("mains",), "assembly": ("mains",), "strip": ("mains",),
}  # fmt: skip


class TableReader:
    """Reads one table with clear refusals."""

    def __init__(self, source: str, place: str, table: object) -> None:
        if not isinstance(table, Mapping):
            raise InputError(source, place=place, expected="a table", found=repr(table), do="Mend the model file.")
        self.source, self.place, self.table = source, place, table

    def refuse(self, key: str, expected: str, found: object) -> InputError:
        """Return the refusal of one key."""
        place = f"{self.place}.{key}" if key else self.place
        return InputError(self.source, place=place, expected=expected, found=repr(found), do="Mend the model file.")

    def keys(self, required: set[str], allowed: set[str]) -> None:
        """Refuse missing and unknown keys."""
        for key in sorted(required - set(self.table)):
            raise self.refuse("", f"a key {key!r}", sorted(self.table))
        for key in sorted(set(self.table) - required - allowed):
            raise self.refuse(key, "one of " + ", ".join(sorted(required | allowed)), key)

    def text(self, key: str, default: str | None = None) -> str:
        """Return a text."""
        value = self.table.get(key, default)
        if not isinstance(value, str) or (default is None and not value.strip()):
            raise self.refuse(key, "some text", value)
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        """Return a list of texts."""
        value = self.table.get(key, [])
        if not isinstance(value, list) or not all(isinstance(each, str) and each for each in value):
            raise self.refuse(key, "a list of texts", value)
        return tuple(value)

    def word_lists(self, key: str) -> list[list[str]]:
        """Return a list of lists of texts."""
        value = self.table.get(key, [])
        if not isinstance(value, list) or not all(
            isinstance(e, list) and all(isinstance(w, str) for w in e) for e in value
        ):
            raise self.refuse(key, "a list of lists of words", value)
        return value

    def number(self, key: str, default: float | None = None) -> float:
        """Return a number above 0."""
        value = self.table.get(key, default)
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value < 1e6:
            raise self.refuse(key, "a number above 0", value)
        return float(value)

    def flag(self, key: str) -> bool:
        """Return true or false."""
        value = self.table.get(key, False)
        if not isinstance(value, bool):
            raise self.refuse(key, "true or false", value)
        return value

    def one_of(self, key: str, words: Iterable[W], default: str | None = None) -> W:
        """Return a text that is one of the words."""
        value, known = self.text(key, default), {str(word): word for word in words}
        if value not in known:
            raise self.refuse(key, "one of " + ", ".join(known), value)
        return known[value]

    def known(self, key: str, names: tuple[str, ...], where: Container[str], kind: str) -> tuple[str, ...]:
        """Return names that all lead somewhere."""
        for name in names:
            if name not in where:
                raise self.refuse(key, f"the name of a {kind}", name)
        return names


def make_model(name: str, source: str, tables: Table) -> Model:
    """Make a model from its merged tables.

    Args:
        name: id of the model.
        source: what to call the input when it is refused.
        tables: title; station, caution, gate, prior, strength, leak: name -> value;
            cause, finding, test: name -> table.

    Raises:
        InputError: names the place, what was expected and what was found.
    """
    whole = TableReader(source, name, tables)
    stations = _texts_by_name(source, "station", tables)
    cautions = _texts_by_name(source, "caution", tables)
    gates = _texts_by_name(source, "gate", tables)
    tests = {key: _test(check, key, cautions, gates) for key, check in _each(source, "test", tables)}
    findings: dict[str, Finding] = {}
    for key, check in _each(source, "finding", tables):
        findings[key] = _finding(check, key, tests, stations, _class_table(source, "leak", tables))
        if findings[key].test == key:
            tests[key] = _question(check, findings[key], cautions, gates)
    causes = {
        key: _cause(check, key, findings, stations, cautions, tables) for key, check in _each(source, "cause", tables)
    }
    if not causes or not findings:
        raise whole.refuse("", "at least one cause and one finding", f"{len(causes)} and {len(findings)}")
    shown = {finding for cause in causes.values() for finding in cause.shows}
    kept = {key: finding for key, finding in findings.items() if key in shown}
    useful = {key: test for key, test in tests.items() if test.opens or any(f.test == key for f in kept.values())}
    dangers = {key: _danger(check, key, findings) for key, check in _each(source, "danger", tables)}
    words = vocabulary(*(whole.word_lists(key) for key in ("same", "synonyms", "opposites", "idioms")))
    return Model(name, whole.text("title"), stations, gates, causes, findings, useful, dangers, words)


def _each(source: str, kind: str, tables: Table) -> list[tuple[str, TableReader]]:
    out = []
    for key, table in TableReader(source, kind, tables.get(kind, {})).table.items():
        check = TableReader(source, f"{kind}.{key}", table)
        required, allowed = KEYS[kind]
        words = set(_class_table(source, "strength", tables)) if kind == "cause" else set[str]()
        check.keys(required, allowed | words)
        out.append((key, check))
    return out


def _texts_by_name(source: str, kind: str, tables: Table) -> dict[str, str]:
    check = TableReader(source, kind, tables.get(kind, {}))
    return {key: check.text(key) for key in check.table}


def _class_table(source: str, kind: str, tables: Table) -> dict[str, float]:
    check = TableReader(source, kind, tables.get(kind, {}))
    out = {key: check.number(key) for key in check.table}
    for key, value in out.items():
        if value >= 1:
            raise check.refuse(key, "a probability below 1", value)
    return out


def _test(check: TableReader, key: str, cautions: Mapping[str, str], gates: Table) -> Test:
    opens = check.text("opens", "")
    return Test(
        name=key,
        do=check.text("do"),
        minutes=check.number("minutes"),
        risk=check.one_of("risk", RISKS, "none"),
        depth=check.one_of("depth", DEPTHS, "none"),
        cautions=_cautions(check, cautions, check.one_of("risk", RISKS, "none")),
        needs=check.known("needs", check.texts("needs"), gates, "gate"),
        opens=check.known("opens", (opens,), gates, "gate")[0] if opens else "",
    )


def _finding(check: TableReader, key: str, tests: Table, stations: Table, leaks: Mapping[str, float]) -> Finding:
    test, condition = check.text("test", key), check.text("condition_of", "")
    said = check.table.get("measured", [])
    ways = said if isinstance(said, list) else [said]
    for way in ways:
        if not isinstance(way, Mapping):
            raise check.refuse("measured", "a table, or a list of them", way)
        _check_measured(check, way)
    return Finding(
        name=key,
        says=check.text("says"),
        ask=check.text("ask"),
        seen=check.text("seen"),
        by=check.text("by"),
        words=check.texts("words"),
        leak=leaks[check.one_of("leak", leaks, "uncommon")],
        test=test if test == key else check.known("test", (test,), tests, "test")[0],
        condition_of=check.known("condition_of", (condition,), stations, "station")[0] if condition else "",
        clears=check.known("clears", check.texts("clears"), stations, "station"),
        denied_by=check.texts("denied_by"),
        measured=tuple(ways),
        follows=check.flag("follows"),
    )


def _danger(check: TableReader, key: str, findings: Mapping[str, Finding]) -> Danger:
    return Danger(
        name=key,
        says=check.text("says"),
        do=check.texts("do"),
        forbids=check.one_of("forbids", RISKS),
        findings=check.known("findings", check.texts("findings"), findings, "finding"),
        words=check.texts("words"),
    )


def _check_measured(check: TableReader, measured: Table) -> None:
    """Exactly one way to read it, known, with a mark where a figure is compared."""
    kind, ways = measured.get("in"), [key for key in ("value", "rule", "words", "suspicion") if key in measured]
    if kind not in RULES:
        raise check.refuse("measured.in", "one of " + ", ".join(RULES), kind)
    if len(ways) != 1:
        raise check.refuse("measured", "one of value, rule, words, suspicion", ways)
    if "rule" in measured and measured["rule"] not in RULES[kind]:
        raise check.refuse("measured.rule", "one of " + ", ".join(RULES[kind]), measured["rule"])
    marks = [key for key in ("above", "below", "beyond") if isinstance(measured.get(key), int | float)]
    if "value" in measured and (len(marks) != 1 or not isinstance(measured["value"], str)):
        raise check.refuse("measured", "a place in the document and one of above, below, beyond with a number", marks)
    if "words" in measured and measured.get("side") not in ("high", "low", "either"):
        raise check.refuse("measured.side", "high, low or either", measured.get("side"))


def _question(check: TableReader, finding: Finding, cautions: Mapping[str, str], gates: Table) -> Test:
    """A finding without a test of its own is asked for directly."""
    power = check.flag("power")
    needs = check.texts("needs") or ((POWER_GATE,) if power and POWER_GATE in gates else ())
    risk = check.one_of("risk", RISKS, "power" if power else "hand" if finding.by == "finger" else "none")
    return Test(
        name=finding.name,
        do=finding.ask,
        minutes=check.number("minutes", 1.0),
        risk=risk,
        depth=check.one_of("depth", DEPTHS, "none"),
        cautions=_cautions(check, cautions, "eye" if risk == "none" and finding.by == "eye" else risk),
        needs=check.known("needs", needs, gates, "gate"),
        question=True,
    )


def _cause(
    check: TableReader, key: str, findings: Table, stations: Table, cautions: Mapping[str, str], tables: Table
) -> Cause:
    source = check.source
    priors, strengths = _class_table(source, "prior", tables), _class_table(source, "strength", tables)
    shows: dict[str, float] = {}
    for word, strength in strengths.items():
        for finding in check.known(word, check.texts(word), findings, "finding"):
            if finding in shows:
                raise check.refuse(word, "each finding once", finding)
            shows[finding] = strength
    if not shows:
        raise check.refuse("", "at least one finding it shows by: " + ", ".join(strengths), sorted(check.table))
    return Cause(
        name=key,
        station=check.one_of("station", stations),
        says=check.text("says"),
        prior=priors[check.one_of("prior", priors)],
        do=check.text("do"),
        minutes=check.number("minutes"),
        depth=check.one_of("depth", DEPTHS, "none"),
        cautions=_cautions(check, cautions, check.one_of("depth", DEPTHS, "none")),
        shows=shows,
        source=check.text("source", STANDING),
    )


def _cautions(check: TableReader, texts: Mapping[str, str], hurts: str) -> tuple[str, ...]:
    """Return the texts named; where none is, those that always go with such a step."""
    given = check.texts("cautions") or tuple(name for name in ALWAYS.get(hurts, ()) if name in texts)
    names = check.known("cautions", given, texts, "caution")
    return tuple(texts[name] for name in names)
