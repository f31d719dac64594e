"""Read a sheet from a table, as a spreadsheet saves it: one requirement a row.

    machine,My machine
    source,"the manual","page 12","the machine's manual, as entered by the owner"
    id,station,what,stage,unit,low,high,readjust low,readjust high,gauge,depends on
    # names,one page each,...                                            (a row that begins with # is passed over)
    clutch-gap,clutch,Teeth clear,clearance,thou,6,14,8,12,leaf,end-play | shaft-freedom

The rows before the head say what a sheet says once. Columns are the keys of a sheet in TOML, in any order, blanks for
underscores; several things in a cell are parted by |. Where `limit` is empty it follows from the ends: low and high is
both, one of them min or max. Comma, semicolon or tab part the cells; with the last two a decimal comma is read.
"""

from tapewright.errors import InputError
from tapewright.gauges.files.fields import Document, cell_number, rows_of, shown
from tapewright.gauges.files.toml_lines import TomlLines

LISTS = frozenset({"between", "tools", "cautions", "variants", "depends_on", "upsets", "knobs"})
ENDS = {"low": ("test", "low"), "high": ("test", "high"),
        "readjust_low": ("readjust", "low"), "readjust_high": ("readjust", "high")}  # fmt: skip
SOURCE = ("document", "place", "standing")
FLAGS = frozenset({"warm", "powered", "locked"})
TEXTS = frozenset({"id", "station", "what", "stage", "limit", "unit", "quantity", "state", "gauge", "reset", "note"})
COLUMNS = TEXTS | LISTS | FLAGS | {*ENDS, *SOURCE, "gauge_u", "positions"}
WORDS = {"yes": True, "true": True, "no": False, "false": False}
#: kind of limit by the ends that are there: low, high
BY_ENDS = {(True, True): "both", (True, False): "min", (False, True): "max"}


def read_sheet_table(source: str, data: bytes) -> Document:
    """Turn a CSV or TSV into the shape a sheet in TOML has; rows stand in for lines.

    Raises:
        InputError: when it has no head row, or a column that means nothing.
    """
    rows, delimiter = rows_of(source, data)
    content: dict[str, object] = {}
    head: list[str] | None = None
    lines, requirements = TomlLines(), list[dict[str, object]]()
    for number, cells in enumerate(rows, start=1):
        if not any(cells) or cells[0].startswith("#"):
            continue
        if head is not None:
            lines.lines[("requirement", len(requirements))] = number
            requirements.append(_requirement(dict(zip(head, cells, strict=False)), delimiter))
        elif (first := cells[0].lower()) in ("machine", "variant", "note"):
            content[first] = next((cell for cell in cells[1:] if cell), "")
        elif first == "source":
            content["source"] = {key: cell for key, cell in zip(SOURCE, cells[1:], strict=False) if cell}
        else:
            head = _head(source, number, cells)
    if head is None:
        raise InputError(source, expected="a head row with id, station, what and the other columns", found="none")
    return Document(source, content | {"requirement": requirements}, known_lines=lines)


def _head(source: str, number: int, cells: list[str]) -> list[str]:
    names = [cell.lower().replace(" ", "_").replace("-", "_") for cell in cells]
    odd = next((cell for cell, name in zip(cells, names, strict=True) if name and name not in COLUMNS), "")
    if odd or "id" not in names:
        columns = ", ".join(sorted(name.replace("_", " ") for name in COLUMNS))
        expected = f"the head row, with id among the columns {columns}"
        raise InputError(source, place=f"row {number}", expected=expected, found=shown(odd or cells))
    return names


def _requirement(cells: dict[str, str], delimiter: str) -> dict[str, object]:
    """Return a row as the table that TOML has; what does not fit stays text, and the field reader says so."""
    table: dict[str, object] = {}
    inner: dict[str, dict[str, object]] = {}
    for name, cell in cells.items():
        if not name or not cell:
            continue
        if name in ENDS:
            part, end = ENDS[name]
            inner.setdefault(part, {})[end] = cell_number(cell, delimiter)
        elif name in SOURCE:
            inner.setdefault("source", {})[name] = cell
        elif name in LISTS or name == "positions":
            parts = [part.strip() for part in cell.split("|")]
            whole = name == "positions" and len(parts) == 1 and cell.isdecimal()
            table[name] = int(cell) if whole else parts
        elif name in FLAGS:
            table[name] = WORDS.get(cell.lower(), cell)
        else:
            table[name] = cell_number(cell, delimiter) if name == "gauge_u" else cell
    test = inner.get("test", {})
    kind = BY_ENDS.get(("low" in test, "high" in test))
    if kind and "limit" not in table:
        table["limit"] = kind
    return table | inner
