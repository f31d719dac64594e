"""Signatures of benches: Ed25519 (RFC 8032). A bench is named by its public key, 32 bytes in hex.

What is signed is a fingerprint as its 64 hex digits, so that general tools can check it too.
"""

import functools
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

PUBLIC = re.compile(r"[0-9a-f]{64}")
SIGNATURE = re.compile(r"[0-9a-f]{128}")


@dataclass(frozen=True, slots=True)
class BenchKey:
    """The key of one bench.

    Attributes:
        bench: its public key, 64 hex digits.
        seed: its private key, 32 bytes.
    """

    bench: str
    seed: bytes = field(repr=False)

    def sign(self, text: str) -> str:
        """Return the signature of an ASCII text, 128 hex digits."""
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        return Ed25519PrivateKey.from_private_bytes(self.seed).sign(text.encode("ascii")).hex()


def key_from(seed: bytes) -> BenchKey:
    """Return the key of 32 private bytes."""
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    return BenchKey(Ed25519PrivateKey.from_private_bytes(seed).public_key().public_bytes_raw().hex(), seed)


def signature_is_good(bench: str, text: str, signature: str) -> bool:
    """Return whether a signature of a text is that of a bench; False for what is no key or no signature."""
    if not PUBLIC.fullmatch(bench) or not SIGNATURE.fullmatch(signature):
        return False
    from cryptography.exceptions import InvalidSignature

    try:
        _public(bench).verify(bytes.fromhex(signature), text.encode("ascii"))
    except (InvalidSignature, ValueError):
        return False
    return True


@functools.lru_cache(256)
def _public(bench: str) -> "Ed25519PublicKey":
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    return Ed25519PublicKey.from_public_bytes(bytes.fromhex(bench))
