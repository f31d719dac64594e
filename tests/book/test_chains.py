"""Chains and keys: what a stranger can check, and sixty-odd ways to forge a record that must be noticed by name."""

import hashlib
import itertools
import json
import random
import shutil
import subprocess
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fakes.bundles import Clock, exported, imported, members_of, packed, with_manifest
from tapewright.book.chains import BROKEN, DOES_NOT_MATCH, NOT_KNOWN, Linked, in_order, look_at_chains, time_of
from tapewright.book.entry import Link, NewEntry, canonical, key_of
from tapewright.book.signing import key_from, signature_is_good
from tapewright.book.store.open import open_book
from tapewright.errors import InputError

PETREL = "a" * 32
ADA, BEN, CLEO, DORA = (key_from(bytes([n]) * 32) for n in range(1, 5))
KNOWN = {ADA.bench: "Skerry Point"}
NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)


# RFC 8032, section 7.1, tests 1 to 3: secret key, public key, message, signature (from memory, and the library agrees)
@pytest.mark.parametrize(("seed", "public", "message", "signature"), [
    ("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
     "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a", "",
     "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"),
    ("4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
     "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c", "72",
     "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"),
])  # fmt: skip
def test_keys_and_signatures_are_those_of_rfc_8032(seed, public, message, signature):
    key = key_from(bytes.fromhex(seed))
    text = bytes.fromhex(message).decode("ascii")
    assert key.bench == public
    assert key.sign(text) == signature
    assert signature_is_good(public, text, signature)
    assert not signature_is_good(public, text + "x", signature)
    assert not signature_is_good(public, text, signature[:-1])


def written(where, signer, texts, clock=None, program="1.0"):
    """Write notes about Petrel; the first line of a new book is its identity."""
    with closing(open_book(str(where), clock=clock or Clock(), program=program, signer=lambda: signer)) as book:
        if not book.machines():
            book.write([NewEntry(PETREL, "identity", {"name": "Petrel"}, "Ada")], {})
        return [book.write([NewEntry(PETREL, "note", {"text": text}, "Ada")], {})[0] for text in texts]


def lines_of(where):
    with closing(open_book(str(where), create=False)) as book:
        return list(book.read_through())


def test_a_chain_is_whole_and_says_by_whom(tmp_path):
    written(tmp_path / "a.book", ADA, "abc")
    lines = lines_of(tmp_path / "a.book")
    assert [line.link.before for line in lines] == [None, *(line.key for line in lines[:-1])]
    (chain,) = look_at_chains(lines, KNOWN, every=True)
    assert str(chain) == "4 lines whole, signed by Skerry Point"
    (stranger,) = look_at_chains(lines, {})
    assert NOT_KNOWN in str(stranger)


@pytest.mark.skipif(not shutil.which("openssl"), reason="openssl is not installed")
def test_a_stranger_checks_a_signature_with_openssl_alone(tmp_path):
    """Outside check: another program, with the public key wrapped as RFC 8410 has it."""
    (line,) = written(tmp_path / "a.book", ADA, "a")
    (tmp_path / "bench.der").write_bytes(bytes.fromhex("302a300506032b6570032100" + line.link.bench))
    (tmp_path / "key").write_text(line.key)
    (tmp_path / "sig").write_bytes(bytes.fromhex(line.signature))
    ask = ["openssl", "pkeyutl", "-verify", "-pubin", "-inkey", "bench.der", "-keyform", "DER", "-rawin", "-in", "key",
           "-sigfile", "sig"]  # fmt: skip
    assert subprocess.run(ask, cwd=tmp_path, capture_output=True, check=False).returncode == 0
    (tmp_path / "key").write_text(line.key.replace("a", "b"))
    assert subprocess.run(ask, cwd=tmp_path, capture_output=True, check=False).returncode == 1


# ---- forgeries

OTHERS = {"another text": lambda new: replace(new, body={"text": "fine"}),
          "another author": lambda new: replace(new, by="Ben"),
          "another kind": lambda new: replace(new, kind="record", body={"which": "end", "text": "fine"})}  # fmt: skip
TIMES = {"dated back": timedelta(days=-2500), "dated on": timedelta(days=30)}


def resigned(entry, new=None, at=None, link=None, signer=None):
    """Return a line changed and hashed anew, signed by whoever the forger is, or with the old signature."""
    new, at, link = new or entry.new, at or entry.at, link or entry.link
    key = key_of(new, at, entry.program, link)
    return replace(entry, new=new, at=at, link=link, key=key, signature=signer.sign(key) if signer else entry.signature)


def forgeries(lines):
    """Yield (name, lines) of each way to forge the record of five signed lines."""
    for (name, change), n in itertools.product(OTHERS.items(), range(1, 5)):
        yield f"{name}, line {n + 1}", [*lines[:n], resigned(lines[n], change(lines[n].new)), *lines[n + 1:]]
        # the forger has a key, and names it: from there on it is another bench's word
        link = replace(lines[n].link, bench=BEN.bench)
        forged = resigned(lines[n], change(lines[n].new), link=link, signer=BEN)
        yield f"{name}, line {n + 1}, by another key", [*lines[:n], forged, *lines[n + 1:]]
    for (name, by), n in itertools.product(TIMES.items(), range(1, 5)):
        yield f"{name}, line {n + 1}", [*lines[:n], resigned(lines[n], at=lines[n].at + by), *lines[n + 1:]]
    for n in range(4):
        yield f"line {n + 1} taken out", [*lines[:n], *lines[n + 1:]]
        yield f"line {n + 1} without its signature", [*lines[:n], replace(lines[n], signature=""), *lines[n + 1:]]
        bare = resigned(lines[n], new=replace(lines[n].new, by="Ben"))
        bare = replace(bare, link=None, signature="", key=key_of(bare.new, bare.at, bare.program))
        yield f"line {n + 1} as one from before there were chains", [*lines[:n], bare, *lines[n + 1:]]
        later = replace(lines[n], link=replace(lines[n].link, seq=99))
        yield f"line {n + 1} counted otherwise", [*lines[:n], resigned(later), *lines[n + 1:]]
    yield "the last line in the place of the first", [lines[4], *lines[1:4]]
    yield "the last two changed places", [*lines[:3], resigned(lines[4], link=lines[3].link),
                                          resigned(lines[3], link=lines[4].link)]  # fmt: skip
    other = NewEntry(PETREL, "note", {"text": "slipped in"}, "Ada")
    for n in range(1, 4):
        link = Link(ADA.bench, lines[n].link.seq, lines[n - 1].key)
        key = key_of(other, lines[n].at, "1.0", link)
        slipped = replace(lines[n], new=other, link=link, key=key, signature=BEN.sign(key))
        yield f"slipped in before line {n + 1}", [*lines[:n], slipped, *lines[n:]]


def test_every_forgery_is_noticed_and_named(tmp_path):
    written(tmp_path / "a.book", ADA, "abcd")
    lines = lines_of(tmp_path / "a.book")
    assert str(look_at_chains(lines, KNOWN, every=True)[0]).endswith("whole, signed by Skerry Point")
    tried = list(forgeries(lines))
    assert len(tried) >= 48
    for name, forged in tried:
        chains = look_at_chains([replace(line, number=n) for n, line in enumerate(forged, 1)], KNOWN, every=True)
        said = "; ".join(map(str, chains))
        assert any(words in said for words in (BROKEN, DOES_NOT_MATCH, NOT_KNOWN)), name
        # without the last line taken away no record passes for whole that is not the one that was written
        if len(chains) == 1:
            assert chains[0].faults, name


def bundle_with(members, lines):
    """Return members of a bundle with other lines, everything hashed and listed anew."""
    made = dict(members)
    made["entries.jsonl"] = b"".join(canonical(e.new, e.at, e.program, e.link) + b"\n" for e in lines)
    made["keys.txt"] = "".join(f"{hashlib.sha256(canonical(e.new, e.at, e.program, e.link)).hexdigest()}\n"
                               for e in lines).encode()  # fmt: skip
    made["signatures.txt"] = "".join(f"{e.signature or '-'}\n" for e in lines).encode()
    return with_manifest(made)


def test_an_edited_bundle_that_was_hashed_anew_is_refused_and_the_book_untouched(tmp_path):
    written(tmp_path / "a.book", ADA, "abcd")
    with closing(open_book(str(tmp_path / "a.book"))) as book:
        exported(book, tmp_path / "a.zip")
    lines = lines_of(tmp_path / "a.book")
    edited = [*lines[:4], resigned(lines[4], replace(lines[4].new, body={"text": "0 wrong"}))]
    packed(bundle_with(members_of(tmp_path / "a.zip"), edited).items(), tmp_path / "forged.zip")
    with closing(open_book(str(tmp_path / "b.book"))) as other:
        with pytest.raises(InputError, match=DOES_NOT_MATCH):
            imported(other, tmp_path / "forged.zip")
        assert other.machines() == ()


# ---- the same lines, the same book

def histories(seed, folder):
    """Four benches that write about Petrel, take in each other's bundles in between; give their bundles."""
    rng, books, clocks = random.Random(seed), [], []
    for n, signer in enumerate((ADA, BEN, CLEO, DORA)):
        clock = Clock()
        clock.now += timedelta(seconds=rng.uniform(-60, 60))
        books.append(open_book(str(folder / f"{seed}-{n}.book"), clock=clock, program="1.0", signer=lambda s=signer: s))
        clocks.append(clock)
    books[0].write([NewEntry(PETREL, "identity", {"name": "Petrel"}, "Ada")], {})
    for book in books[1:]:
        book.take_in(list(books[0].read_through()), {})
    for step in range(8):
        book = rng.choice(books)
        if rng.random() < 0.3:
            book.take_in(list(rng.choice(books).read_through()), {})
        else:
            book.write([NewEntry(PETREL, "note", {"text": f"{step}"}, "Ada")], {})
    found = [list(book.read_through()) for book in books]
    for book in books:
        book.close()
    return found


@settings(max_examples=2, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_any_order_of_merging_gives_the_same_bytes(tmp_path_factory, seed):
    folder = tmp_path_factory.mktemp("merge")
    bundles, made = histories(seed, folder), set()
    for turn, order in enumerate(random.Random(seed).sample(list(itertools.permutations(range(4))), 2)):
        with closing(open_book(str(folder / f"{turn}.book"), signer=lambda: ADA)) as book:
            for n in (*order, order[0]):  # the last a second time: it changes nothing
                book.take_in(bundles[n], {})
            made.add(exported(book, folder / f"{turn}.zip").fingerprint)
            lines = list(book.read_through())
            assert [line.number for line in lines] == list(range(1, len(lines) + 1))
            chains = look_at_chains(lines, KNOWN, every=True)
            assert not any(chain.faults for chain in chains)
            place = {line.key: line.number for line in lines}
            for line in lines:  # nothing stands before what it names
                assert all(place[key] < line.number for key in (line.link.before, *line.link.seen) if key)
    assert len(made) == 1


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10**9))
def test_order_depends_on_the_lines_alone_and_nothing_stands_before_what_it_names(seed):
    rng, lines = random.Random(seed), []
    ends: dict[str, Linked] = {}
    for n in range(rng.randrange(1, 30)):
        bench = rng.choice("1234") * 64
        seen = tuple(sorted(end.key for other, end in ends.items() if other != bench and rng.random() < 0.7))
        before = ends.get(bench)
        at = NOON + timedelta(seconds=rng.choice([-50, 0, 0, n, 100]))
        key = hashlib.sha256(f"{seed} {n}".encode()).hexdigest()
        ends[bench] = Linked(key, at, bench, n + 1, before.key if before else None, seen)
        lines.append(ends[bench])
    order = in_order(lines)
    assert order == in_order(rng.sample(lines, len(lines)))
    for line in lines:
        assert all(order[named] < order[line.key] for named in (line.before, *line.seen) if named)
        assert time_of(order[line.key]) >= line.at


def test_a_book_from_before_there_were_chains_opens_and_is_signed_from_then_on(tmp_path):
    from alembic import command
    from alembic.config import Config
    from sqlalchemy import text

    from tapewright.book.store.engine import engine_for
    from tapewright.book.store.place import place_of

    where = str(tmp_path / "old.book")
    engine, config = engine_for(place_of(where)), Config()
    config.set_main_option("script_location", "tapewright.book.store:migrations")
    lines = [NewEntry(PETREL, "identity", {"name": "Petrel"}, "Ada"), NewEntry(PETREL, "note", {"text": "b"}, "Ada")]
    with engine.connect().execution_options(writes=True) as connection, connection.begin():
        config.attributes["connection"] = connection
        command.upgrade(config, "0001")
        connection.execute(text("INSERT INTO machines VALUES (:k, 'Petrel', 'petrel', '', 2, :at)"),
                           {"k": PETREL, "at": NOON.isoformat(timespec="microseconds")})  # fmt: skip
        for n, new in enumerate(lines, 1):
            at = NOON + timedelta(hours=n)
            connection.execute(text(
                "INSERT INTO entries VALUES (:number, :key, :machine, :kind, NULL, :at, 'Ada', :says, :document)"),
                {"number": n, "key": key_of(new, at, "0.1.0"), "machine": PETREL, "kind": new.kind,
                 "at": at.isoformat(timespec="microseconds"), "says": "Petrel" if n == 1 else "b",
                 "document": canonical(new, at, "0.1.0").decode()})  # fmt: skip
    engine.dispose()
    written(where, ADA, ["signed"], clock=lambda: NOON + timedelta(days=1))
    found = lines_of(where)
    assert [(line.number, bool(line.signature)) for line in found] == [(1, False), (2, False), (3, True)]
    said = "; ".join(map(str, look_at_chains(found, KNOWN)))
    assert f"2 lines {NOT_KNOWN}: they carry no signature" in said
    assert "1 line whole, signed by Skerry Point" in said
    from tapewright.book.carrying import check_the_book

    sound, _ = check_the_book(where, lambda _: None)
    assert sound.faults == ()


# ---- withdrawn, never hidden

def evidence(phase, state, sort="line"):
    verdict = {"check": "c", "state": state, "value": 1.0, "u": 0.1, "low": 0, "high": 2, "unit": "ms", "source": "s",
               "standing": "assumed", "why": ""}  # fmt: skip
    result = {"format": f"tapewright/{sort}/1", "verdicts": [verdict]}
    return {"sort": sort, "phase": phase, "says": "as measured", "result": result}


@pytest.mark.parametrize(("kind", "body", "by", "reason", "match"), [
    ("note", {"text": "."}, "Ada", "because", "same machine, kind and sort"),
    ("evidence", evidence("as left", "within", "tape"), "Ada", "because", "same machine, kind and sort"),
    ("evidence", evidence("as left", "within"), "Ada", " ", "no reason"),
    ("evidence", evidence("as left", "within"), "", "because", "no name"),
])
def test_only_a_line_of_the_same_kind_withdraws_one_with_a_reason_and_a_name(tmp_path, kind, body, by, reason, match):
    with closing(open_book(str(tmp_path / "a.book"), signer=lambda: ADA)) as book:
        book.write([NewEntry(PETREL, "identity", {"name": "Petrel"}, "Ada")], {})
        (bad,) = book.write([NewEntry(PETREL, "evidence", evidence("as left", "outside"), "Ada")], {})
        with pytest.raises(InputError, match=match):
            book.write([NewEntry(PETREL, kind, body, by, replaces=bad.key, reason=reason)], {})
        assert len(book.timeline(PETREL)) == 2


def test_what_was_withdrawn_stays_in_history_and_proof_and_in_what_the_counts_say(tmp_path):
    from tapewright.furniture.document import to_builtins
    from tapewright.proof.proof_pages import proof_text
    from tapewright.proof.prove_machine import prove_machine

    with closing(open_book(str(tmp_path / "a.book"), clock=Clock(), signer=lambda: ADA)) as book:
        book.write([NewEntry(PETREL, "identity", {"name": "Petrel"}, "Ada")], {})
        bad = [book.write([NewEntry(PETREL, "evidence", evidence(phase, "outside"), "Ada")], {})[0]
               for phase in ("as found", "as left")]  # fmt: skip
        for line, phase in zip(bad, ("as found", "as left"), strict=True):
            body = evidence(phase, "within")
            book.write([NewEntry(PETREL, "evidence", body, "Ben", replaces=line.key, reason="the wrong file")], {})
        gone = [line for line in book.timeline(PETREL) if line.withdrawn]
        assert [line.key for line in gone] == [line.key for line in reversed(bad)]
        assert gone[0].withdrawn == "withdrawn 2026-03-01 by Ben, because the wrong file"
        proof = prove_machine(book, "Petrel")
    assert [w.line for w in proof.withdrawn] == [2, 3]
    assert {line.key for line in proof.trail.lines} >= {line.key for line in bad}
    assert "2 lines with 2 outside and 0 not shown" in proof_text(proof).replace("\n    ", " ")
    assert any(p.phase == "as found" and "because the wrong file" in p.said for p in proof.phases)
    assert json.dumps(to_builtins(proof)["withdrawn"]).count("the wrong file") == 2


def test_a_note_of_another_hand_does_not_hide_a_bad_result():
    """In a bundle from before the rule, or of another program."""
    from proof.practice_book import Record
    from tapewright.proof.prove_machine import prove_entries

    record = Record()
    bad = record.write("evidence", evidence("as left", "outside"))
    record.write("note", {"text": "."}, replaces=bad.key)
    proof = prove_entries("Petrel", PETREL, record.all())
    assert proof.first_page.counts.outside == 1
    assert any("would withdraw" in point.what for point in proof.open_points)
