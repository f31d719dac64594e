"""What may be in a bundle, by name, and how large it may be.

Picture:

    manifest.json      every other member with its length and SHA-256
    README.txt         how to check it with ordinary tools
    entries.jsonl      the lines of the book, oldest first, each the very bytes its key is the SHA-256 of
    keys.txt           the keys, in the same order
    signatures.txt     the signature of each key by the bench that wrote the line, 128 hex digits, or "-" for none;
                       only where a line carries one
    machines.csv, entries.csv, files.csv     the same for people; never read back
    left-out.jsonl     only from a damaged book: lines that could be read but are not whole
    raw/<SHA-256>      raw files, named by what they are

The page that lies in every bundle, for whoever opens it without the program.
"""

import re
from dataclasses import dataclass

MANIFEST, README, ENTRIES, KEYS = "manifest.json", "README.txt", "entries.jsonl", "keys.txt"
SIGNATURES = "signatures.txt"
MACHINES_TABLE, ENTRIES_TABLE, FILES_TABLE, LEFT_OUT = "machines.csv", "entries.csv", "files.csv", "left-out.jsonl"
#: members that every bundle has, besides the manifest
NEEDED = (README, ENTRIES, KEYS, MACHINES_TABLE, ENTRIES_TABLE, FILES_TABLE)
RAW = "raw/"
_RAW_NAME = re.compile(r"raw/([0-9a-f]{64})")
GIB, MIB = 1024**3, 1024**2


@dataclass(frozen=True, slots=True)
class Limits:
    """How large a bundle may be: beyond this it is refused before it is unpacked (ours).

    Attributes:
        members: files in it.
        total_bytes: all of them unpacked.
        ratio: how many times smaller a member may have been packed; text and captures reach some 30 times, what packs
            better is stored unpacked by our own export.
        ratio_from_bytes: members shorter than this may have any ratio.
        line_bytes: one line of the book.
        manifest_bytes: the manifest.
    """

    members: int = 250_000
    total_bytes: int = 16 * GIB
    ratio: int = 200
    ratio_from_bytes: int = 1 * MIB
    line_bytes: int = 64 * MIB
    manifest_bytes: int = 64 * MIB


def raw_name(sha256: str) -> str:
    """Return the name of a raw file in a bundle."""
    return RAW + sha256


def sha256_of(name: str) -> str | None:
    """Return the fingerprint that a raw file's name says; None for any other member."""
    found = _RAW_NAME.fullmatch(name)
    return found.group(1) if found else None


def what_is_wrong_with(name: str) -> str:
    """Say why a member may not be called so; empty when it may."""
    if name in (MANIFEST, LEFT_OUT, SIGNATURES, *NEEDED) or sha256_of(name):
        return ""
    if name.startswith(("/", "\\")) or re.match(r"[A-Za-z]:", name):
        return "a name that begins at the root of a disk"
    if ".." in re.split(r"[/\\]", name):
        return "a name that leads out of its folder"
    if name.endswith("/"):
        return "a folder"
    return "a file that does not belong in a bundle"


README_TEXT = """\
This is a bundle of Tapewright: the record of one machine, or of a workshop's whole book, as plain files.

  manifest.json   every other file with its length and SHA-256 fingerprint
  entries.jsonl   the lines of the book, oldest first, one JSON object a line
  keys.txt        the key of each line, in the same order: the SHA-256 of the line without its end
  signatures.txt  for each key the signature (Ed25519, RFC 8032) of its 64 hex digits by the bench that wrote the
                  line; the line names the bench by its public key ("chain": {"bench": ...}); "-" where nobody signed
  machines.csv, entries.csv, files.csv   the same as tables, for reading; nothing is read back from them
  raw/            captures, pictures and other files, each named by its SHA-256 fingerprint
  left-out.jsonl  only from a damaged book: lines that could be read but whose raw file is lost, or whose key is wrong

To check it with ordinary tools, in the folder it was unpacked to:

  (cd raw && for f in *; do echo "$f  $f"; done | sha256sum --check --quiet)
  while IFS= read -r l; do printf %s "$l" | sha256sum; done < entries.jsonl | cut -c1-64 | diff - keys.txt

Both print nothing when all is whole. One signature, for the last line (openssl 3, xxd):

  tail -n 1 keys.txt | tr -d '\n' > key; tail -n 1 signatures.txt | xxd -r -p > sig
  bench=$(tail -n 1 entries.jsonl | sed 's/.*"bench":"\\([0-9a-f]*\\)".*/\1/')
  (printf 302a300506032b6570032100; printf %s "$bench") | xxd -r -p > bench.der
  openssl pkeyutl -verify -pubin -inkey bench.der -keyform DER -rawin -in key -sigfile sig
 To take it in: tapewright book import FILE.zip

Nothing in here says that a machine is safe. For mains, loop voltage and moving parts local codes and licensed
practice rule.
"""
