"""Machine models as TOML files: those of the package, and your own that build on them.

    data/stations, cautions, dangers, gates, classes, tests .toml     shared by every machine
    data/findings/*.toml                                     shared by every machine
    data/causes/NAME.toml                                    one part of a machine each
    data/machines/NAME.toml                                  which parts a machine has

A file of your own has the shape of a machine file, with [cause.X], [finding.X], [test.X] of your own beside it,
and `extends` to start from one of the package's machines.
"""

import tomllib
from functools import lru_cache
from pathlib import Path
from typing import Any

from tapewright.advisor.check_model import make_model
from tapewright.advisor.machine_model import Model
from tapewright.errors import InputError

DATA = Path(__file__).parent / "data"
SHARED = ("stations", "cautions", "dangers", "gates", "classes", "tests")
DEFAULT = "whole"
#: Keys of a machine file that are not tables of causes, findings and so on.
HEADER = {"title", "causes", "extends", "without"}
TABLES = {"cause", "finding", "test", "station", "caution", "danger", "gate", "prior", "strength", "leak"}


def names() -> list[str]:
    """Return the machines of the package."""
    return sorted(path.stem for path in (DATA / "machines").glob("*.toml"))


def load(name: str) -> Model:
    """Load a machine of the package by name, the whole one without a name, or a file of your own (ending in .toml).

    Raises:
        InputError: when there is no such machine, or the file cannot be read or does not fit together.
    """
    return _load(Path(name)) if name.endswith(".toml") else _of_package(name or DEFAULT)


@lru_cache(maxsize=8)
def _of_package(name: str) -> Model:
    path = DATA / "machines" / f"{name}.toml"
    if name not in names():
        raise InputError(f"machine {name!r}", expected="one of " + ", ".join(names()) + ", or a .toml file",
                         found="no such machine", do="Name one of these with --machine.")  # fmt: skip
    return _load(path)


def _load(path: Path) -> Model:
    machine = read_toml(path)
    tables: dict[str, Any] = {}
    for part in SHARED:
        _merge(tables, read_toml(DATA / f"{part}.toml"), part)
    tables |= read_toml(DATA / "vocabulary.toml")
    for part_path in sorted((DATA / "findings").glob("*.toml")):
        _merge(tables, _with_common(read_toml(part_path)), part_path.name)
    _add_machine(tables, machine, path)
    return make_model(path.stem, path.name, tables)


def _add_machine(tables: dict[str, Any], machine: dict[str, Any], path: Path) -> None:
    for key in sorted(set(machine) - HEADER - TABLES):
        raise _refuse(path, key, "one of " + ", ".join(sorted(HEADER | TABLES)), key)
    base: dict[str, Any] = {}
    if "extends" in machine:
        if machine["extends"] not in names():
            raise _refuse(path, "extends", "one of " + ", ".join(names()), machine["extends"])
        base = read_toml(DATA / "machines" / f"{machine['extends']}.toml")
    parts = machine.get("causes", base.get("causes", []))
    known = {part.stem for part in (DATA / "causes").glob("*.toml")}
    if not isinstance(parts, list) or any(part not in known for part in parts):
        raise _refuse(path, "causes", "a list of " + ", ".join(sorted(known)), parts)
    for part in dict.fromkeys(parts):
        _merge(tables, read_toml(DATA / "causes" / f"{part}.toml"), part)
    tables["title"] = machine.get("title", base.get("title", ""))
    _merge(tables, {key: value for key, value in machine.items() if key in TABLES}, path.name)
    without = machine.get("without", [])
    if not isinstance(without, list) or any(cause not in tables.get("cause", {}) for cause in without):
        raise _refuse(path, "without", "a list of causes to leave out", without)
    for cause in without:
        del tables["cause"][cause]


def _with_common(tables: dict[str, Any]) -> dict[str, Any]:
    """Keys at the head of a findings file hold for every finding in it that does not say otherwise."""
    common = {key: value for key, value in tables.items() if key != "finding"}
    return {"finding": {name: {**common, **table} for name, table in tables.get("finding", {}).items()}}


def _merge(into: dict[str, Any], new: dict[str, Any], place: str) -> None:
    for kind, table in new.items():
        if kind not in TABLES:
            continue
        if not isinstance(table, dict):
            raise InputError(place, place=kind, expected=f"tables [{kind}.NAME]", found=repr(table))
        into.setdefault(kind, {}).update(table)


def _refuse(path: Path, key: str, expected: str, found: object) -> InputError:
    return InputError(path.name, place=f"key {key!r}", expected=expected, found=repr(found), do="Mend the model file.")


def read_toml(path: Path) -> dict[str, Any]:
    """Read a TOML file.

    Raises:
        InputError: when it is not TOML.
    """
    try:
        return tomllib.loads(path.read_bytes().decode("utf-8-sig"))
    except UnicodeDecodeError as problem:
        raise InputError(str(path), place=f"byte {problem.start}", expected="UTF-8 text", found="other bytes",
                         do="Save the file as UTF-8.") from problem  # fmt: skip
    except (tomllib.TOMLDecodeError, RecursionError) as problem:
        raise InputError(str(path), expected="TOML", found=str(problem) or "nesting too deep",
                         do="See the page on evidence files.") from problem  # fmt: skip
