"""The gate that every request goes through, before anything of the bench sees it."""

from collections.abc import Callable

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from tapewright.bench.trust.callers import is_this_machine, refusal
from tapewright.bench.trust.headers import HEADERS
from tapewright.bench.trust.sharing import Sharing

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
