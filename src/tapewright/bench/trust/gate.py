"""The gate that every request goes through: who may call, and what every answer says a browser must not do.

A foreign page that is open in the same browser can send requests here (cross-site); a foreign name that is made to
point here can read the answers too (DNS rebinding). The first is told by Origin and Sec-Fetch-Site, the second by
Host: RFC 9110 7.2 (Host), RFC 6454 (Origin), W3C Fetch Metadata. Clause numbers from memory.
"""

from collections.abc import Callable
from ipaddress import ip_address
from urllib.parse import urlsplit

from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from tapewright.bench.trust.sharing import Sharing

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
    return (
        scope["method"] in READING
        and headers.get("sec-fetch-mode") == "navigate"
        and (headers.get("sec-fetch-dest") == "document")
    )


def _is_address(name: str) -> bool:
    try:
        ip_address(name)
    except ValueError:
        return False
    return True


#: W3C Content Security Policy Level 3: nothing unless named; no inline script or style, no frame, no foreign address.
POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob:",
        "connect-src 'self'",
        "manifest-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
        "object-src 'none'",
    )
)

#: on every answer
HEADERS: tuple[tuple[bytes, bytes], ...] = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    # with "no-referrer" a browser sends Origin: null with our own forms too; this way no foreign server sees one either
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"permissions-policy", b"geolocation=(), microphone=(), payment=(), usb=()"),
    (b"x-frame-options", b"DENY"),
)


PASS = "bench-pass"
#: paths a stranger may see before pairing
OPEN = frozenset({"/pair", "/assets/bench.css"})


class Gate:
    """Refuses foreign callers, sends strangers to the pairing page, and puts the headers on every answer.

    Args:
        app: the bench.
        sharing: who was let in from the network; None when the bench is not shared.
        pairing: gives the page that asks for the code.
    """

    def __init__(self, app: ASGIApp, sharing: Sharing | None, pairing: Callable[[Request], Response]) -> None:
        """Stand before `app`."""
        self.app, self.sharing, self.pairing = app, sharing, pairing

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, or answer it."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                # an answer may have a policy of its own: the proof allows its one style sheet by its fingerprint
                own = {name.lower() for name, _ in message["headers"]}
                message["headers"] = [*message["headers"], *(pair for pair in HEADERS if pair[0] not in own)]
            await send(message)

        answer = self._answer(scope)
        await (answer or self.app)(scope, receive, send_with_headers)

    def _answer(self, scope: Scope) -> Response | None:
        why = refusal(scope)
        if why:
            return PlainTextResponse(why + "\n", 403)
        if is_this_machine(scope) or scope["path"] in OPEN:
            return None
        request = Request(scope)
        if self.sharing is None:
            return PlainTextResponse("This bench is not shared.\n", 403)
        return None if self.sharing.let_in(request.cookies.get(PASS, "")) else self.pairing(request)
