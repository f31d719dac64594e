"""A sheet of 500 requirements, read and checked: `python benchmarks/sheet.py`. Limit: 0.3 s."""

import time

from tapewright.gauges.checking import check
from tapewright.gauges.files.journal_file import read_journal
from tapewright.gauges.files.sheet_file import read_sheet

LIMIT_S, ROWS = 0.3, 500


def sheet_text() -> str:
    head = 'machine = "Long"\nsource = { standing = "owner\'s choice" }\n'
    body = """
[[requirement]]
id = "r{n}"
station = "station {station}"
what = "Gap {n}"
stage = "clearance"
limit = "both"
unit = "mm"
test = {{ low = 0.10, high = 0.20 }}
readjust = {{ low = 0.12, high = 0.18 }}
state = "latched, play taken up"
between = ["one", "other"]
gauge = "leaf"
depends_on = [{before}]
upsets = [{after}]
"""
    rows = [
        body.format(
            n=n, station=n // 20,
            before=", ".join(f'"r{m}"' for m in {n - 1, n // 2} if 0 <= m < n),
            after=", ".join(f'"r{m}"' for m in (n + 1, n + 7) if m < ROWS),
        )
        for n in range(ROWS)
    ]  # fmt: skip
    return head + "".join(rows)


def main() -> None:
    sheet_bytes = sheet_text().encode()
    journal_bytes = ("id,low,high\n" + "".join(f"r{n},0.12,0.14\n" for n in range(ROWS))).encode()
    took = []
    for _ in range(5):
        started = time.process_time()
        sheet = read_sheet("long.toml", sheet_bytes)
        result = check(sheet, read_journal("long.csv", journal_bytes, sheet))
        took.append(time.process_time() - started)
    assert result.next is None
    best = min(took)
    print(f"{ROWS} requirements read and checked in {best:.3f} s of processor time, {best / LIMIT_S:.2f} of the limit")


if __name__ == "__main__":
    main()
