"""Only this machine may call, by its own name, and only from the bench's own pages.

A foreign page that is open in the same browser can send requests here (cross-site); a foreign name that is made to
point here can read the answers too (DNS rebinding). The first is told by Origin and Sec-Fetch-Site, the second by
Host: RFC 9110 7.2 (Host), RFC 6454 (Origin), W3C Fetch Metadata. Clause numbers from memory.
"""

from ipaddress import ip_address
from urllib.parse import urlsplit

from starlette.datastructures import Headers
from starlette.types import Scope

LOOPBACK_NAMES = frozenset({"localhost", "127.0.0.1", "::1"})
READING = frozenset({"GET", "HEAD"})


def refusal(scope: Scope) -> str:
    """Say why a request is refused, in one sentence; empty when it may pass."""
    headers = Headers(scope=scope)
    host = headers.get("host", "")
    if not is_own_name(host, scope):
        return f"This bench does not answer to the name {host!r}. Use the address it printed when it started."
    origins = headers.getlist("origin")
    if any(origin != f"{scope.get('scheme', 'http')}://{host}" for origin in origins):
        return "This came from a page that is not the bench's own."
    site = headers.get("sec-fetch-site", "same-origin")
    may_come = site in ("same-origin", "none") or _is_a_link_followed(scope, headers)
    return "" if may_come else "This came from a page that is not the bench's own."


def is_own_name(host: str, scope: Scope) -> bool:
    """Return whether a Host header names this server: a loopback name or the very address called, and the port."""
    try:
        parts = urlsplit(f"//{host}")
        name, port = parts.hostname or "", parts.port or 80
    except ValueError:
        return False
    if parts.username is not None or parts.path or parts.query or parts.fragment:
        return False
    own_name, own_port = scope.get("server") or ("", None)
    return port == (own_port or 80) and (name in LOOPBACK_NAMES or (_is_address(name) and name == own_name))


def is_this_machine(scope: Scope) -> bool:
    """Return whether the caller sits on this machine."""
    client = scope.get("client")
    return client is not None and _is_address(client[0]) and ip_address(client[0]).is_loopback


def _is_a_link_followed(scope: Scope, headers: Headers) -> bool:
    """A link from elsewhere to a page here only shows the page."""
    return scope["method"] in READING and headers.get("sec-fetch-mode") == "navigate" and (
        headers.get("sec-fetch-dest") == "document"
    )  # fmt: skip


def _is_address(name: str) -> bool:
    try:
        ip_address(name)
    except ValueError:
        return False
    return True
