"""A write brings both keys of this start: the cookie only this browser has, and the word that stood in the page."""

import hmac
import secrets
from dataclasses import dataclass, field

from starlette.requests import Request

HEADER, FIELD = "x-bench-key", "bench-key"
KEY_BYTES = 32


@dataclass(frozen=True, slots=True)
class Keys:
    """Two random words of this start: a write must bring both, one as a cookie and one in the form or a header."""

    cookie: str = field(default_factory=lambda: secrets.token_urlsafe(KEY_BYTES))
    form: str = field(default_factory=lambda: secrets.token_urlsafe(KEY_BYTES))


def cookie_name(request: Request) -> str:
    """Name the cookie after the port: browsers do not keep the ports of one host apart."""
    return f"bench-{(request.scope.get('server') or ('', 80))[1]}"


def brings_cookie(request: Request, keys: Keys) -> bool:
    """Return whether the request has the cookie of this start."""
    return _same(request.cookies.get(cookie_name(request), ""), keys.cookie)


def is_form_key(given: str, keys: Keys) -> bool:
    """Return whether this is the word that stood in the page."""
    return _same(given, keys.form)


def _same(given: str, known: str) -> bool:
    return hmac.compare_digest(given.encode(), known.encode())
