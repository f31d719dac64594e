"""The seal of a proof: whole, altered, not known; checked with a PDF reader and a signature library not ours."""

import hashlib
import io
import json
import random
import re

import pypdf
import pytest
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from tapewright.book.keys import own_key
from tapewright.book.signing import key_from
from tapewright.errors import InputError
from tapewright.furniture.document import to_builtins
from tapewright.proof.prove_machine import prove_entries
from tapewright.proof.seal import proof_bytes, verify
from tapewright.terminal.run import run

ADA, STRANGER = key_from(bytes([1]) * 32), key_from(bytes([2]) * 32)
KNOWN = {ADA.bench: "Skerry Point"}


@pytest.fixture(scope="module")
def sealed():
    """A proof as .json and .pdf, sealed by Ada; its JSON document."""
    from proof.practice_book import KEY, Record
    from tapewright.proof.proof_pages import proof_pages

    record = Record()
    record.write("identity", {"name": "Petrel", "model": "keyboard punch"})
    record.write("soak", {"characters": 350_000, "wrong": 0})
    proof = prove_entries("Petrel", KEY, record.all())
    document = to_builtins(proof)
    return {e: proof_bytes(e, "a4", document, lambda: proof_pages(proof), ADA) for e in (".json", ".pdf")}, document


def looked_at(tmp_path, ending, data, known=KNOWN):
    file = tmp_path / f"proof{ending}"
    file.write_bytes(data)
    return verify(file, known)


@pytest.mark.parametrize("ending", [".json", ".pdf"])
def test_whole_altered_and_not_known(sealed, tmp_path, ending):
    data = sealed[0][ending]
    found = looked_at(tmp_path, ending, data)
    assert (found.state, found.says) == ("whole", "whole, signed by Skerry Point")
    assert looked_at(tmp_path, ending, data, {}).state == "not known"
    altered = data.replace(b"350000", b"350001").replace(b"as left", b"as lift") if ending == ".json" else None
    rng, tried = random.Random(3), 0
    for _ in range(40):
        place = rng.randrange(len(data))
        forged = altered or data[:place] + bytes([data[place] ^ 1]) + data[place + 1 :]
        try:
            found = looked_at(tmp_path, ending, forged)
        except InputError:  # no JSON any more
            continue
        tried += 1
        assert found.state != "whole", place
        altered = None
    assert tried > 10
    # somebody else's seal on the same words is no seal of a bench known here
    other = data.replace(ADA.bench.encode(), STRANGER.bench.encode())
    assert looked_at(tmp_path, ending, other).state == "altered"


def test_the_document_is_attached_and_can_be_checked_by_a_stranger(sealed, tmp_path):
    """Outside check: pypdf finds the attachment, and the signature library checks both seals by itself."""
    data, document = sealed
    attached = pypdf.PdfReader(io.BytesIO(data[".pdf"])).attachments["proof.json"][0]
    assert attached == data[".json"]
    read = json.loads(attached)
    seal = read.pop("seal")
    assert read == document
    canonical = json.dumps(read, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
    public = Ed25519PublicKey.from_public_bytes(bytes.fromhex(seal["bench"]))
    public.verify(bytes.fromhex(seal["signature"]), hashlib.sha256(canonical).hexdigest().encode())
    keyword = re.search(rb"tapewright-seal:([0-9a-f]{64}):([0-9a-f]{128})", data[".pdf"])
    bare = data[".pdf"].replace(keyword[2], b"0" * 128)
    public.verify(bytes.fromhex(keyword[2].decode()), hashlib.sha256(bare).hexdigest().encode())
    with pytest.raises(InvalidSignature):
        public.verify(bytes.fromhex(keyword[2].decode()), hashlib.sha256(data[".pdf"]).hexdigest().encode())
    metadata = pypdf.PdfReader(io.BytesIO(data[".pdf"])).trailer["/Root"]["/Metadata"].get_data().decode()
    assert re.search(r"pdfaid:part[>=\"]+3", metadata)  # PDF/A-3a (ISO 19005-3): the one that may hold attachments


def test_the_command_says_it_with_its_exit_code(sealed, tmp_path, capsys):
    mine = tmp_path / "mine.json"
    mine.write_bytes(proof_bytes(".json", "a4", sealed[1], lambda: None, own_key()))
    assert run(["proof", "verify", str(mine)]) == 0
    (tmp_path / "theirs.pdf").write_bytes(sealed[0][".pdf"])
    assert run(["proof", "verify", str(tmp_path / "theirs.pdf")]) == 3
    mine.write_bytes(mine.read_bytes().replace(b"350000", b"35000"))
    assert run(["proof", "verify", str(mine), "--json"]) == 1
    assert "signature does not match" in capsys.readouterr().out
    for odd in (b"", b"[1]", b"{", b"[" * 100_000, b'{"format": "x"}'):
        mine.write_bytes(odd)
        assert run(["proof", "verify", str(mine)]) == 4
