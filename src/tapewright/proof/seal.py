"""The seal of a proof: a signature over the whole file, so that a stranger can check it without the book.

    FILE.json   {"...", "seal": {"bench", "signature"}}       over the document without its seal, as canonical JSON
    FILE.pdf    keywords tapewright-seal:BENCH:SIGNATURE      over the file's bytes, with 128 noughts for SIGNATURE

What is signed is the SHA-256 of those bytes, as 64 hex digits (Ed25519, RFC 8032). The keyword stands in the file as
plain bytes, once in its information and once in its metadata, and keeps its length: so the file remains PDF/A, and no
place in it moves. The document is attached to the PDF as proof.json, with its own seal.
"""

import hashlib
import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from tapewright.book.chains import DOES_NOT_MATCH, NOT_KNOWN
from tapewright.book.signing import BenchKey, signature_is_good
from tapewright.errors import InputError

if TYPE_CHECKING:
    from tapewright.furniture.pages.blocks import Pages

MARK = "tapewright-seal"
NOUGHTS = "0" * 128
SEAL = re.compile(rb"tapewright-seal:([0-9a-f]{64}):([0-9a-f]{128})")
#: a proof is a few megabytes; a larger file is none
LARGEST_BYTES = 512 * 1024**2


@dataclass(frozen=True, slots=True)
class Verified:
    """What a check of a proof found.

    Attributes:
        state: "whole"; "altered"; "not known": whole, but by a key that is not known here, or by none.
        bench: public key it is sealed with; empty for none.
        says: in a sentence.
        sha256: fingerprint of the file.
    """

    state: Literal["whole", "altered", "not known"]
    bench: str
    name: str
    says: str
    sha256: str


def sealed_json(document: Mapping[str, object], key: BenchKey) -> bytes:
    """Return the document with its seal, as it goes into a file."""
    seal = {"bench": key.bench, "signature": key.sign(_digest(_canonical(document)))}
    return f"{json.dumps({**document, 'seal': seal}, indent=2, allow_nan=False, ensure_ascii=False)}\n".encode()


def open_seal(key: BenchKey) -> str:
    """Return the keyword that a PDF is set with before it is sealed."""
    return f"{MARK}:{key.bench}:{NOUGHTS}"


def sealed_pdf(pdf: bytes, key: BenchKey) -> bytes:
    """Return a PDF that was set with `open_seal`, sealed.

    Raises:
        ValueError: when the keyword is not in it.
    """
    keyword = open_seal(key).encode()
    if keyword not in pdf:
        raise ValueError("the keyword of the seal is not in the file")
    return pdf.replace(keyword, f"{MARK}:{key.bench}:{key.sign(_digest(pdf))}".encode())


def proof_bytes(
    ending: str, paper: str, document: Mapping[str, object], pages: Callable[[], "Pages"], key: BenchKey
) -> bytes:
    """Return what goes into a .pdf, .html or .json file of a proof, sealed where there is a place for a seal."""
    from tapewright.furniture.pages.html import pages_html
    from tapewright.furniture.pages.pdf import pages_pdf

    if ending == ".html":
        return pages_html(pages()).encode()
    data = sealed_json(document, key)
    if ending == ".json":
        return data
    return sealed_pdf(pages_pdf(pages(), paper, attached={"proof.json": data}, keyword=open_seal(key)), key)


def verify(file: Path, known: Mapping[str, str]) -> Verified:
    """Check a proof.

    Args:
        file: a .pdf or .json file of `machine prove`.
        known: benches known here: public key -> name.

    Raises:
        InputError: when it is neither.
    """
    if (length := file.stat().st_size) > LARGEST_BYTES:
        raise InputError(str(file), expected=f"a proof of at most {LARGEST_BYTES} bytes", found=f"{length}")
    data = file.read_bytes()
    fingerprint = hashlib.sha256(data).hexdigest()
    if data.startswith(b"%PDF"):
        seals = set(SEAL.findall(data))
        if len(seals) > 1:
            return Verified("altered", "", "", f"{DOES_NOT_MATCH}: the file holds several seals", fingerprint)
        bench, signature = (part.decode() for part in next(iter(seals), (b"", b"")))
        signed = SEAL.sub(lambda seal: seal[0][: -len(NOUGHTS)] + NOUGHTS.encode(), data)
    else:
        document = _document(file, data)
        seal = document.pop("seal", None)
        fields = seal if isinstance(seal, dict) else {}
        bench, signature = str(fields.get("bench", "")), str(fields.get("signature", ""))
        signed = _canonical(document)
    if not bench:
        return Verified("not known", "", "", f"{NOT_KNOWN}: it carries no seal", fingerprint)
    if not signature_is_good(bench, _digest(signed), signature):
        return Verified("altered", bench, known.get(bench, ""), f"{DOES_NOT_MATCH}: the file was altered", fingerprint)
    name = known.get(bench, "")
    if not name:
        return Verified("not known", bench, "", f"whole, {NOT_KNOWN} (key {bench})", fingerprint)
    return Verified("whole", bench, name, f"whole, signed by {name}", fingerprint)


def _document(file: Path, data: bytes) -> dict[str, object]:
    try:
        document = json.loads(data, object_pairs_hook=_once)
    except (ValueError, RecursionError) as problem:
        raise InputError(
            str(file), expected="a proof: a PDF, or JSON as `machine prove -o` writes it", found=str(problem)[:200]
        ) from problem
    if not isinstance(document, dict) or document.get("format") != "tapewright/proof/1":
        raise InputError(str(file), place="format", expected="tapewright/proof/1", found="another document")
    return document


def _once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    """Refuse an object that holds one key twice: two readers could take two answers from it."""
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("an object with the same key twice")
    return found


def _canonical(document: Mapping[str, object]) -> bytes:
    try:
        return json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
    except (RecursionError, UnicodeEncodeError) as problem:
        raise InputError(
            "the proof", expected="JSON as `machine prove -o` writes it", found=str(problem)[:200]
        ) from problem


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()
