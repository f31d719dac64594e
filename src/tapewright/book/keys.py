"""The key of this bench, and the benches it knows: kept outside the book, in the user's data folder.

keys/bench.pem      the private key (Ed25519, RFC 8032; PKCS #8), made when the first line is written
keys/bench.name     what this bench is called
keys/known.txt      public keys of other benches, one a line: 64 hex digits, a blank, the name
"""

import functools
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from tapewright.book.signing import PUBLIC, BenchKey, key_from
from tapewright.book.store.place import data_folder
from tapewright.errors import InputError

#: another folder for the keys, for a stick or a test
FOLDER_VARIABLE = "TAPEWRIGHT_KEYS"
OWN_NAME = "this bench"


def keys_folder() -> Path:
    """Return where keys lie."""
    return Path(os.environ.get(FOLDER_VARIABLE) or data_folder() / "keys")


def own_key() -> BenchKey:
    """Return the key of this bench; make one where there is none.

    Raises:
        InputError: when it cannot be read or made.
    """
    file = keys_folder() / "bench.pem"
    try:
        if not file.exists():
            _make(file)
        return _read(str(file), file.stat().st_mtime_ns)
    except OSError as problem:
        raise InputError(
            str(file),
            expected="the key of this bench, or a folder that takes a new one",
            found=problem.strerror or str(problem),
            do=f"{FOLDER_VARIABLE} names another folder. Nothing was written.",
        ) from problem


@functools.lru_cache(8)
def _read(file: str, _changed_ns: int) -> BenchKey:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    try:
        key = load_pem_private_key(Path(file).read_bytes(), None)
    except (ValueError, TypeError) as problem:
        raise InputError(
            file, expected="a private key (Ed25519, PEM, without a password)", found=str(problem)
        ) from problem
    if not isinstance(key, Ed25519PrivateKey):
        raise InputError(file, expected="a private key of the kind Ed25519", found=type(key).__name__)
    return key_from(key.private_bytes_raw())


def _make(file: Path) -> None:
    """Make a key; of two programs that do it at once the first one's counts for both."""
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

    file.parent.mkdir(parents=True, exist_ok=True)
    pem = Ed25519PrivateKey.generate().private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    handle, made = tempfile.mkstemp(dir=file.parent, prefix=".bench-")  # readable by the user alone
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(pem)
            out.flush()
            os.fsync(out.fileno())
        try:
            os.link(made, file)
        except FileExistsError:
            pass
        except OSError:  # a file system without links
            if not file.exists():
                os.replace(made, file)
    finally:
        Path(made).unlink(missing_ok=True)


def bench_name() -> str:
    """Return what this bench is called; empty when nobody has named it."""
    return _text(keys_folder() / "bench.name").strip()


def known_benches() -> dict[str, str]:
    """Return the benches known here, this one among them: public key -> name."""
    known = {}
    for line in _text(keys_folder() / "known.txt").splitlines():
        key, _, name = line.strip().partition(" ")
        if PUBLIC.fullmatch(key):
            known[key] = name.strip() or key[:12]
    if (keys_folder() / "bench.pem").exists():
        known[own_key().bench] = bench_name() or OWN_NAME
    return known


def name_bench(name: str) -> None:
    """Give this bench a name."""
    own_key()
    (keys_folder() / "bench.name").write_text(f"{name}\n", "utf-8")


def know(bench: str, name: str) -> None:
    """Know another bench from now on.

    Raises:
        InputError: when that is no public key.
    """
    if not PUBLIC.fullmatch(bench):
        raise InputError("the bench", expected="its public key, 64 hex digits", found=repr(bench[:80]))
    others: Mapping[str, str] = {key: said for key, said in known_benches().items() if key != own_key().bench}
    lines = [f"{key} {' '.join(said.split())}\n" for key, said in {**others, bench: name}.items()]
    (keys_folder() / "known.txt").write_text("".join(lines), "utf-8")


def _text(file: Path) -> str:
    try:
        return file.read_text("utf-8")
    except (OSError, UnicodeDecodeError):
        return ""
