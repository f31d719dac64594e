"""Mutated captures through every importer: an answer or one clear refusal, never a traceback or a warning. Limit: 0.

python benchmarks/fuzz_importers.py                  two thousand files
python benchmarks/fuzz_importers.py 100000 7         so many files, another seed
python benchmarks/fuzz_importers.py 100000 7 FOLDER  and keep there each file that was not survived

Each file is one of a small corpus (every format, and every dialect of tables in tests/worlds/line) with a few bytes
changed, cut out, put in, doubled or set to extremes, mostly near its head. It is read for edges and for samples, with
and without a rate.
"""

import contextlib
import gzip
import io
import random
import resource
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from pathlib import Path

import numpy as np

from tapewright.errors import TapewrightError
from tapewright.recordings.files.read import read_recordings
from tapewright.recordings.files.waveform import read_waveform

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

LIMIT = 0
LONGEST_S = 20.0
RATES = (None, None, 1e4, 0.01, 1e12)
EXTREMES = (b"\xff\xff\xff\xff", b"\0\0\0\0", b"\x7f\xff\xff\xff", b"1e308", b"nan", b"-1", b",,,", b'"', b"\n\n")


def saved(save, *args, **named):
    out = io.BytesIO()
    save(out, *args, **named)
    return out.getvalue()


def wav(samples, rate):
    import wave

    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(samples.itemsize)
        file.setframerate(rate)
        file.writeframes(samples.tobytes())
    return out.getvalue()


def corpus(folder):
    """Return name to bytes."""
    line = (np.arange(1200) // 220 % 2).astype(float)
    noisy = line * 3.3 + np.random.default_rng(1).normal(0, 0.02, line.size)
    times = np.arange(line.size) / 1e4
    mixed = np.array(list(zip(times, line, strict=True)), dtype=[("t", "f8"), ("v", "u1")])
    tone = (9000 * line * np.sin(np.arange(line.size) * 0.9)).astype("<i2")
    found = {
        "npy": saved(np.save, noisy),
        "npy bits": saved(np.save, line.astype(bool)),
        "npy table": saved(np.save, np.column_stack([times, line])),
        "npy across": saved(np.save, np.asfortranarray(np.column_stack([times, line]))),
        "npy fields": saved(np.save, mixed),
        "npz": saved(np.savez_compressed, line=noisy, rate_hz=1e4),
        "npz times": saved(np.savez, t=times, line=line),
        "raw": (line * 255).astype(np.uint8).tobytes(),
        "raw bits": np.packbits(line.astype(bool)).tobytes(),
        "wav": wav((line * 20_000).astype("<i2"), 8000),
        "wav tone": wav(tone, 8000),
    }
    with contextlib.suppress(ImportError):
        from worlds.line.files import write_all

        found |= {name: written.path.read_bytes()[:20_000] for name, written in write_all(folder, 3).items()}
    return found | {f"{name}, packed": gzip.compress(found[name]) for name in ("npy", "wav")}


def mutated(data, chance):
    out = bytearray(data)
    for _ in range(chance.randint(1, 6)):
        at = chance.randrange(min(len(out), chance.choice([150, 600, len(out)])) or 1)
        kind = chance.randrange(6)
        if kind == 0 and out:
            out[min(at, len(out) - 1)] = chance.randrange(256)
        elif kind == 1:
            del out[at : at + chance.randint(1, 60)]
        elif kind == 2:
            out[at:at] = bytes(chance.randrange(256) for _ in range(chance.randint(1, 8)))
        elif kind == 3 and chance.random() < 0.3:
            del out[at:]
        elif kind == 4:
            out[at : at + 4] = chance.choice(EXTREMES)
        else:
            out[at:at] = out[at : at + chance.randint(1, 40)]
    return bytes(out) or b"x"


def main(files, seed, keep):
    chance, faults, slowest = random.Random(seed), Counter(), 0.0
    with tempfile.TemporaryDirectory() as folder, warnings.catch_warnings():
        warnings.simplefilter("error")
        seeds, path = corpus(Path(folder)), Path(folder) / "fuzzed"
        read = 0
        for _ in range(files):
            name = chance.choice(sorted(seeds))
            path.write_bytes(data := mutated(seeds[name], chance))
            rate = chance.choice(RATES)
            for reader in (read_recordings, read_waveform):
                begun = time.perf_counter()
                try:
                    read += bool(reader(path, rate_hz=rate))
                except TapewrightError:
                    pass
                except Exception as fault:
                    last = traceback.extract_tb(fault.__traceback__)[-1]
                    where = f"{type(fault).__name__} in {Path(last.filename).name}:{last.lineno}, from {name}: {fault}"
                    faults[where] += 1
                    if keep and faults[where] == 1:
                        (keep / f"{len(faults)} {name}").write_bytes(data)
                slowest = max(slowest, time.perf_counter() - begun)
    for where, count in faults.most_common():
        print(f"{count} x {where}")
    memory_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{files} files, each read twice: {read} answers, {sum(faults.values())} faults (limit {LIMIT}), slowest "
          f"{slowest:.1f} s (limit {LONGEST_S:.0f}), {memory_mb:.0f} MB")  # fmt: skip
    return int(sum(faults.values()) > LIMIT or slowest > LONGEST_S)


if __name__ == "__main__":
    numbers, folders = [int(each) for each in sys.argv[1:3]], [Path(each) for each in sys.argv[3:]]
    sys.exit(main(*(numbers + [2000, 1][len(numbers) :]), *(folders or [None])))
