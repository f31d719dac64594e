"""A machine's record made of real result documents: the practice machine measured by the measuring code.

    day 1   as found: line capture, tape, gauges        Petrel with its faults
    day 2   adjustments
    day 3   as left: captures of test patterns, tapes, gauges, long run
"""

import contextlib
import io
import json
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from tapewright.alphabets import ITA2, encode
from tapewright.book.entry import Entry, NewEntry, key_of
from tapewright.gauges.checking import check
from tapewright.gauges.files.journal_file import read_journal
from tapewright.gauges.files.sheet_file import read_sheet
from tapewright.gauges.measure import document as sheet_json
from tapewright.line.document import LineSettings
from tapewright.line.read import HowToRead, line_document, read_line
from tapewright.message.test_texts import pattern
from tapewright.recordings.files.on_disk import CaptureFilesOnDisk
from tapewright.terminal.run import run

KEY = "5e" * 16
BEGUN = datetime(2026, 5, 4, 8, 0, tzinfo=UTC)
TEXT = "THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG 1234567890"


class Record:
    """Lines written one after the other, an hour apart, as a book would."""

    def __init__(self):
        self.entries = []

    def write(self, kind, body, *, files=(), rests_on=(), replaces=None, by="Ada"):
        new = NewEntry(KEY, kind, body, by, tuple(files), tuple(rests_on), replaces)
        number = len(self.entries) + 1
        at = BEGUN + timedelta(hours=number)
        self.entries.append(Entry(number, key_of(new, at, "0.1.0"), at, "0.1.0", new))
        return self.entries[-1]

    def measured(self, sort, phase, result, **more):
        found = result.get("source", {})
        files = [found["sha256"]] if isinstance(found, dict) and found.get("sha256") else []
        sources = [{"sha256": s, "name": found.get("file", ""), "role": sort} for s in files]
        body = {"sort": sort, "phase": phase, "says": sort, "result": result, "sources": sources} | more
        return self.write("evidence", body, files=files)

    def all(self):
        return tuple(self.entries)


def quiet(words):
    """Run a command for what it writes to disk."""
    with contextlib.redirect_stdout(io.StringIO()):
        assert run(words) == 0


@cache
def line_of(machine, what, *options, seed=1, expect=True):
    """Return the document of a capture of the practice machine; `what` is a pattern, else a text."""
    from tapewright.message.test_texts import PATTERNS

    pattern_given = what in PATTERNS
    with TemporaryDirectory() as folder:
        file = Path(folder) / f"{machine}-{what[:12].replace(' ', '-').lower()}-{seed}.csv"
        said = ["--pattern", what] if pattern_given else [what]
        quiet(["line", "compose", *said, "--machine", machine, "--seed", str(seed), "-o", str(file), *options])
        count = int(options[options.index("--count") + 1]) if "--count" in options else None
        sent = pattern(what, ITA2, count) if pattern_given else encode(what, ITA2)
        settings = LineSettings(ITA2, nominal_baud=1 / 0.022, expect=tuple(sent) if expect else None, clock_ppm=50.0)
        report = read_line(file, HowToRead(), settings, files=CaptureFilesOnDisk(), progress=lambda _: None)
        return json.loads(json.dumps(line_document(report)))


@cache
def tape_of(machine, text, seed=1):
    """Return the document of a scanned tape of the practice machine."""
    with TemporaryDirectory() as folder:
        file = Path(folder) / f"{machine}-tape-{seed}.png"
        quiet(["tape", "practice", text, "--machine", machine, "--seed", str(seed), "-o", str(file)])
        out = io.StringIO()
        with contextlib.redirect_stdout(out):
            run(["tape", "read", str(file), "--expect", text, "--json"])
        return json.loads(out.getvalue())


def sheet_of(readings, rows=20):
    """Return the document of a sheet of so many gap requirements with these readings (id -> value)."""
    body = ['machine = "Petrel"', 'source = { document = "harbour museum practice", standing = "owner\'s choice" }']
    for n in range(rows):
        body.append(
            f'[[requirement]]\nid = "gap-{n}"\nstation = "station {n // 20}"\nwhat = "Gap {n}"\nstage = "clearance"\n'
            'limit = "both"\nunit = "mm"\ntest = { low = 0.20, high = 0.30 }\ngauge = "leaf"\n'
        )
    sheet = read_sheet("petrel.toml", "\n".join(body).encode())
    rows_ = "".join(f"{id_},{value}\n" for id_, value in readings.items())
    return json.loads(json.dumps(sheet_json(check(sheet, read_journal("r.csv", f"id,value\n{rows_}".encode(), sheet)))))


def small():
    """Return the record of one restoration, small enough for every test."""
    record = Record()
    record.write("identity", {"name": "Petrel", "model": "keyboard with tape punch", "serial": "none, brass tag 7",
                              "alphabet": "ita2", "nominal_baud": 45.45, "place": "harbour museum, Skerry Point"})
    record.write("intake", {"state": "gummed, motor turns by hand", "came_from": "the pilot station's loft",
                            "missing": ["dust cover"], "hazards": ["frayed mains lead"]})
    record.measured("line", "as found", line_of("petrel", TEXT, "--repeat", "1"),
                    instrument="small logic analyser", temperature_c=18.0, running_minutes=10)
    record.measured("tape", "as found", tape_of("petrel", TEXT), instrument="flat bed scanner, 300 dpi")
    record.measured("gauge", "as found", sheet_of({"gap-0": 0.42, "gap-1": 0.25, "gap-2": 0.305}, 6),
                            instrument="leaf gauge set")
    record.write("electrical check", {"between": "mains lead and frame", "reading": 20, "unit": "megohm",
                                      "verdict": "within"})
    record.write("caution", {"caution": "Pull the mains plug before you reach in", "acknowledged": True})
    record.write("adjustment", {"what": "contact 3 reset", "before": 1.52, "after": 0.02, "unit": "ms",
                                "why": "closes late", "recheck": ["contact-timing"]})
    owed = record.write("recheck", {"what": "contact timing", "state": "owed", "because": "contact 3 was reset"})
    record.write("recheck", {"what": "punch soak", "state": "owed", "because": "contact 3 was reset"})
    record.measured("line", "as left", line_of("heron", "pangram"), instrument="small logic analyser",
                    temperature_c=19.0, running_minutes=40)
    record.measured("line", "as left", line_of("heron", "ry", "--count", "200"), instrument="small logic analyser",
                    temperature_c=19.0, running_minutes=45)
    record.measured("tape", "as left", tape_of("heron", TEXT), instrument="flat bed scanner, 300 dpi")
    record.measured("gauge", "as left", sheet_of({"gap-0": 0.25, "gap-1": 0.25, "gap-2": 0.305, "gap-3": 0.4}, 6),
                    instrument="leaf gauge set")
    record.write("recheck", {"what": "contact timing", "state": "done"}, rests_on=[owed.key])
    record.write("soak", {"characters": 12000, "wrong": 1, "minutes": 35, "state": "warm", "supply_percent": 2})
    record.measured("observation", "as left", {"format": "tapewright/observation/1"},
                    says="The clutch lets go with a clean click")
    record.write("record", {"which": "end", "text": "Runs; gap 3 is still wide."})
    record.write("note", {"text": "A long evening."})
    return record


def large(requirements=200, captures=10, tapes=5):
    """Return the record that the limit of time is about; every document is of a raw file of its own.

    Two captures and two tapes of each side are measured, the others are taken for further ones like them: what the
    proof has to read is as long, and the measuring is not what its limit is about.
    """

    def another(document, n):
        return {**document, "source": {**document["source"], "sha256": f"{n:064x}"}}

    record = Record()
    record.write("identity", {"name": "Petrel", "model": "keyboard with tape punch", "nominal_baud": 45.45})
    half = {f"gap-{n}": 0.42 if n % 3 == 0 else 0.25 for n in range(requirements // 2)}
    record.measured("gauge", "as found", sheet_of(half, requirements))
    for n in range(captures // 2):
        record.measured("line", "as found", another(line_of("petrel", "pangram", "--count", "430", seed=n % 2), n))
    for n in range(tapes // 2):
        record.measured("tape", "as found", another(tape_of("petrel", TEXT * 3, seed=n % 2), 100 + n))
    record.write("adjustment", {"what": "contact 3 reset", "before": 1.52, "after": 0.02, "unit": "ms"})
    for n in range(captures - captures // 2):
        record.measured("line", "as left", another(line_of("heron", "all-pairs", seed=n % 2), 200 + n))
    for n in range(tapes - tapes // 2):
        record.measured("tape", "as left", another(tape_of("heron", TEXT * 3, seed=n % 2), 300 + n))
    whole = {f"gap-{n}": 0.20 + 0.001 * (n % 120) for n in range(requirements)}
    record.measured("gauge", "as left", sheet_of(whole, requirements))
    return record
