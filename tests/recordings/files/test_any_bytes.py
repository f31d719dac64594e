"""Any bytes at all end in an answer or in one clear refusal: no traceback, no warning, in bounded time and memory."""

import io
import struct
import time
import zipfile

import numpy as np
import psutil
import pytest
import soundfile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tapewright.errors import TapewrightError
from tapewright.recordings.capture import Recording
from tapewright.recordings.files.formats import FORMATS
from tapewright.recordings.files.options import Options
from tapewright.recordings.files.read import read_recordings

QUIET = settings(deadline=None, max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])


def attempt(path, data, **how):
    """Read `data` as a file in every way; check that what comes out is sound."""
    path.write_bytes(data)
    try:
        found = read_recordings(path, **how)
    except TapewrightError:
        return None
    assert found
    for each in found:
        sound(each)
    return found


def sound(recording):
    """A recording keeps the promises of its type."""
    assert isinstance(recording, Recording)
    edges = recording.edges
    assert np.isfinite(edges.times_s).all()
    assert (np.diff(edges.times_s) >= 0).all()
    assert np.isfinite(edges.u_s).all()
    assert (edges.u_s >= 0).all()
    assert (edges.level_after[1:] != edges.level_after[:-1]).all()
    assert edges.times_s.shape == edges.u_s.shape == edges.level_after.shape
    if edges.times_s.size:
        assert edges.starts_high is (not edges.level_after[0])
    assert edges.begin_s <= edges.end_s
    for begin, end in edges.missing:
        assert begin <= end
        assert not ((edges.times_s > begin) & (edges.times_s < end)).any()


RATES = st.sampled_from([None, 1.0, 1e6, 1e-300, 1e300, 44_100.0])


@QUIET
@given(data=st.binary(max_size=3000), rate=RATES)
def test_any_bytes(tmp_path, data, rate):
    attempt(tmp_path / "a", data, rate_hz=rate)


HEADS = {
    "wav": b"RIFF\0\0\0\0WAVE",
    "npy": b"\x93NUMPY\x01\0",
    "npz": b"PK\x03\x04",
    "vcd": b"$var ",
    "csv": b"1,2\n3,4\n",
}


@QUIET
@given(data=st.data(), number=st.integers(0, len(FORMATS) - 1), rate=RATES)
def test_any_bytes_for_each_reader(tmp_path, data, number, rate):
    """Also what would not be recognised as this format."""
    body = HEADS.get(FORMATS[number].NAME, b"") + data.draw(st.binary(max_size=2000))
    (tmp_path / "a").write_bytes(body or b"x")
    try:
        for each in FORMATS[number].read(tmp_path / "a", Options(rate_hz=rate)):
            sound(each)
    except TapewrightError:
        pass


LINES = st.text(alphabet="0123456789.,;:\t -+eE\"'xzXZhighlowtrue()[]smunV#$\r\n\x00\ufeff°µ", max_size=400)


@QUIET
@given(text=LINES, rate=RATES, encoding=st.sampled_from(["utf-8", "utf-16", "utf-8-sig", "latin-1"]))
def test_any_text(tmp_path, text, rate, encoding):
    attempt(tmp_path / "a", text.encode(encoding, "replace"), rate_hz=rate)


NUMBERS = st.one_of(
    st.floats(width=64),
    st.sampled_from([0.0, 1.0, 1e308, -1e308, 5e-324, float("nan"), float("inf"), float("-inf"), 2.0**63]),
    st.integers(-3, 3).map(float),
)


@QUIET
@given(
    rows=st.lists(st.tuples(NUMBERS, NUMBERS), min_size=1, max_size=60),
    header=st.sampled_from(["", "t,v\n", "time (ms),V\n", "Time,CH1\ns,V\n"]),
    rate=RATES,
)
def test_any_numbers_in_a_table(tmp_path, rows, header, rate):
    text = header + "".join(f"{a!r},{b!r}\n" for a, b in rows)
    attempt(tmp_path / "a", text.encode(), rate_hz=rate)


@QUIET
@given(values=st.lists(NUMBERS, min_size=1, max_size=80), kind=st.sampled_from(["f8", "f4", ">f8", "f2"]), rate=RATES)
def test_any_numbers_in_an_array(tmp_path, values, kind, rate):
    with np.errstate(all="ignore"):
        array = np.array(values).astype(kind)
    out = io.BytesIO()
    np.save(out, np.repeat(array, 9))
    attempt(tmp_path / "a", out.getvalue(), rate_hz=rate)
    np.save(out := io.BytesIO(), array[: array.size // 2 * 2].reshape(-1, 2))
    attempt(tmp_path / "a", out.getvalue(), rate_hz=rate)


@QUIET
@given(values=st.lists(NUMBERS, min_size=1, max_size=60), repeat=st.integers(1, 60))
def test_any_numbers_in_sound(tmp_path, values, repeat):
    with np.errstate(all="ignore"):
        samples = np.repeat(np.array(values, "<f4"), repeat)
    attempt(tmp_path / "a", float_wav(samples))


def float_wav(samples, rate=44_100):
    body = samples.tobytes()
    fmt = struct.pack("<HHIIHH", 3, 1, rate, rate * 4, 4, 32)
    size = struct.pack("<I", len(body))
    return b"RIFF" + size + b"WAVEfmt \x10\0\0\0" + fmt + b"data" + size + body


def valid_files():
    rng = np.random.default_rng(7)
    line = (np.repeat(rng.integers(0, 2, 60), rng.integers(5, 60, 60))).astype(np.uint8)
    times = np.arange(line.size) / 20_000
    wav = io.BytesIO()
    soundfile.write(wav, line * 0.5, 20_000, format="WAV")
    wavex = io.BytesIO()
    soundfile.write(wavex, np.column_stack([line, line]) * 0.5, 20_000, format="WAVEX", subtype="PCM_24")
    npy, npz, zipped = io.BytesIO(), io.BytesIO(), io.BytesIO()
    np.save(npy, np.column_stack([times, line]))
    np.savez(npz, line=line, rate_hz=20_000)
    np.savez_compressed(zipped, t=times, line=line)
    csv = "Time (s),A,B\n" + "".join(f"{t:.5f},{v},{1 - v}\n" for t, v in zip(times[:900], line, strict=False))
    wires = '$var wire 1 ! a $end $var wire 4 " b [3:0] $end $var real 64 # r $end'
    vcd = f'$timescale 1 us $end {wires} $enddefinitions $end\n#0 $dumpvars 1! b0101 " r1.5 # $end\n'
    vcd += "".join(f'#{k * 20_000} {k % 2}! b{k % 16:04b} " r{k % 3} #\n' for k in range(40))
    quick = "$timescale 1 us $end $var wire 1 ! a $end $enddefinitions $end "
    quick += "".join(f"#{k * 900}\n{k % 2}!\n" for k in range(90))
    packed = np.packbits(line).tobytes()
    files = [wav.getvalue(), wavex.getvalue(), npy.getvalue(), npz.getvalue(), zipped.getvalue()]
    comma = csv.replace(",", ";").replace(".", ",")
    return [*files, csv.encode(), comma.encode("utf-16"), vcd.encode(), quick.encode(), packed]


VALID = valid_files()


def test_the_valid_files_are_read(tmp_path):
    for data in VALID:
        found = attempt(tmp_path / "a", data, rate_hz=20_000)
        assert found is not None
        assert found[0].edges.times_s.size > 5


@pytest.mark.slow
@settings(QUIET, max_examples=100)
@given(
    number=st.integers(0, len(VALID) - 1),
    changes=st.lists(
        st.tuples(st.floats(0, 1), st.binary(max_size=8), st.integers(0, 8), st.booleans()), min_size=1, max_size=5
    ),
    cut=st.floats(0.1, 1.0),
    near_head=st.booleans(),
    rate=RATES,
)
def test_damaged_files(tmp_path, number, changes, cut, near_head, rate):
    data = bytearray(VALID[number])
    for where, new, replaced, _ in changes:
        at = int(where * (min(len(data), 120) if near_head else len(data)))
        data[at : at + replaced] = new
    attempt(tmp_path / "a", bytes(data[: max(1, int(cut * len(data)))]), rate_hz=rate)


def npy_claiming(descr, shape):
    header = f"{{'descr': {descr!r}, 'fortran_order': False, 'shape': {shape!r}, }}".encode().ljust(117) + b"\n"
    return b"\x93NUMPY\x01\x00" + struct.pack("<H", len(header)) + header + b"\0" * 64


def zip_of_zeros(size, *, claimed=None):
    """An archive of one array of zeros; `claimed` is written in the archive's own directory instead of the size."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive, archive.open("a.npy", "w") as member:
        header = f"{{'descr': '|u1', 'fortran_order': False, 'shape': ({claimed or size},), }}".encode().ljust(117)
        member.write(b"\x93NUMPY\x01\x00" + struct.pack("<H", 118) + header + b"\n")
        for _ in range(size >> 20):
            member.write(bytes(1 << 20))
    whole = bytearray(out.getvalue())
    if claimed is not None:
        at = whole.rindex(b"PK\x01\x02") + 24
        whole[at : at + 4] = struct.pack("<I", claimed)
    return bytes(whole)


def wav_claiming(**lies):
    facts = {"format": 1, "channels": 1, "rate": 8000, "frame": 2, "bits": 16, "data": 100} | lies
    fmt = struct.pack("<HHIIHH", facts["format"], facts["channels"], facts["rate"], 0, facts["frame"], facts["bits"])
    return b"RIFF\xff\xff\xff\xffWAVEfmt \x10\0\0\0" + fmt + b"data" + struct.pack("<I", facts["data"]) + b"\0\1" * 50


BIG = 4_000_000
VCD = b"$timescale 1 ns $end $var wire 1 ! a $end $enddefinitions $end "
VCD_END = b"$enddefinitions $end\n#0\n15\n#10\n05\n"
HOSTILE = {
    "a million columns": lambda: b",".join([b"1"] * 1_000_000) + b"\n" + b",".join([b"0"] * 1_000_000),
    "one endless line": lambda: b"1" * BIG,
    "commas only": lambda: b"," * BIG,
    "quotes only": lambda: b'"' * BIG,
    "one open quote": lambda: b'0,1\n1,0\n2,1\n"' + b"3,1\n" * 500_000,
    "line feeds only": lambda: b"\n" * BIG,
    "numbers then an endless line": lambda: b"0,1\n" * 100 + b"7" * BIG,
    "tabs": lambda: (b"1\t" * 2000 + b"\n") * 900,
    "ragged": lambda: b"".join(b"%d" % k + b",1" * (k % 5) + b"\n" for k in range(300_000)),
    "a million changes": lambda: b"".join(b"%d,%d\n" % (k, k % 2) for k in range(800_000)),
    "words in a million rows": lambda: b"".join(b"%d,%s\n" % (k, (b"low", b"high")[k % 2]) for k in range(500_000)),
    "irregular volts": lambda: b"".join(b"%d,%d.5\n" % (k * k, k % 7) for k in range(400_000)),
    "no signal but noise": lambda: np.random.default_rng(1).integers(0, 256, BIG).astype(np.uint8).tobytes(),
    "npy of 1e18": lambda: npy_claiming("<f8", (10**18,)),
    "npy of many axes": lambda: npy_claiming("<f8", (1,) * 60),
    "npy of negative length": lambda: npy_claiming("<f8", (-5,)),
    "npy of objects": lambda: npy_claiming("|O", (5,)),
    "npy of empty texts": lambda: npy_claiming("<U0", (10**12,)),
    "npy of sub-arrays": lambda: npy_claiming([("a", "<f8", (2,))], (4,)),
    "npy of nothing": lambda: npy_claiming("<f8", (0,)),
    "zip bomb": lambda: zip_of_zeros(1 << 20, claimed=3 << 30),
    "zip of much idle": lambda: zip_of_zeros(256 << 20),
    "wav of no channels": lambda: wav_claiming(channels=0, frame=0),
    "wav of 65535 channels": lambda: wav_claiming(channels=65535, frame=65534),
    "wav of rate 0": lambda: wav_claiming(rate=0),
    "wav of 12 bits": lambda: wav_claiming(bits=12),
    "wav of frames of 0": lambda: wav_claiming(frame=0),
    "wav longer than it is": lambda: wav_claiming(data=0x7FFFFFF0),
    "wav of a compressed kind": lambda: wav_claiming(format=17),
    "wav of noise": lambda: float_wav(np.random.default_rng(1).normal(0, 1, 1_000_000).astype("<f4")),
    "wav of square waves": lambda: float_wav(np.tile(np.float32([1, -1]), 1_000_000)),
    "wav of chunks": lambda: b"RIFF\0\0\0\0WAVE" + b"junk\0\0\0\0" * 500_000,
    "vcd of signals": lambda: b"".join(b"$var wire 1 %d a%d $end\n" % (k, k) for k in range(300_000)) + VCD_END,
    "vcd of a wide vector": lambda: b"$var wire 999999999 ! a $end $enddefinitions $end #0 b1 ! #1 b0 !",
    "vcd of an endless word": lambda: VCD + b"#0 " + b"1" * BIG,
    "vcd of huge times": lambda: VCD + b"#" + b"9" * 5000 + b" 1!",
    "vcd of one time": lambda: VCD + b"#5 " + b"1! 0! " * 500_000,
    "vcd of a comment without end": lambda: b"$comment " + b"a " * 2_000_000,
    "vcd of vectors": lambda: b"$timescale 1 ns $end $var wire 64 ! a $end $enddefinitions $end "
    + b"".join(b"#%d b%s !\n" % (k, (b"10", b"01")[k % 2] * 32) for k in range(100_000)),
}  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize("case", HOSTILE, ids=lambda case: case.replace(" ", "-"))
def test_hostile_files_cost_little(tmp_path, case):
    data = HOSTILE[case]()
    assert len(data) < 10_000_000
    process = psutil.Process()
    before, started = process.memory_info().rss, time.process_time()
    for rate in (None, 50_000.0):
        attempt(tmp_path / "a", data, rate_hz=rate)
    # each alone must stay under 10 s of a person's time; measured in CPU time, so that a busy machine fails nothing
    assert time.process_time() - started < 20
    assert process.memory_info().rss - before < 1 << 30


@pytest.mark.parametrize("kind", ["f8", "<f16", "u1", "?", "S3", "c16"])
@pytest.mark.parametrize("shape", [(0,), (0, 2), (2, 0), (0, 0), (), (1,), (1, 1), (2, 1), (3, 2)])
@pytest.mark.parametrize("rate", [None, 1e4])
def test_arrays_without_or_with_hardly_any_numbers(tmp_path, kind, shape, rate):
    """Found by mutated files: shapes with a nought in them, and numbers no double can hold."""
    head = f"{{'descr': {kind!r}, 'fortran_order': False, 'shape': {shape}, }}".ljust(117).encode() + b"\n"
    attempt(tmp_path / "a", b"\x93NUMPY\x01\0" + struct.pack("<H", len(head)) + head + b"\xfe" * 96, rate_hz=rate)
