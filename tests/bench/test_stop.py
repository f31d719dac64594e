"""Ctrl-C with a request still at work: the bench stops, and the terminal is not filled with what that let go."""

import asyncio
import http.client
import logging
import signal
import threading
import time
from types import SimpleNamespace

import uvicorn

from tapewright.bench.serve import _Server, is_no_farewell


def test_a_request_that_is_let_go_says_nothing(caplog):
    begun, stopping = threading.Event(), threading.Event()

    async def slow(scope, receive, send):
        if scope["type"] == "http":
            begun.set()
            await asyncio.sleep(60)

    config = uvicorn.Config(
        slow, port=0, log_level="warning", timeout_graceful_shutdown=1, lifespan="off", log_config=None
    )
    server = _Server(config, SimpleNamespace(stopping=stopping))
    running = threading.Thread(target=server.run, daemon=True)
    with caplog.at_level(logging.WARNING, "uvicorn.error"):
        running.start()
        while not server.started:
            time.sleep(0.01)
        line = http.client.HTTPConnection(*server.servers[0].sockets[0].getsockname())
        line.request("GET", "/")
        assert begun.wait(5)
        server.handle_exit(signal.SIGINT, None)
        running.join(10)
    logging.getLogger("uvicorn.error").removeFilter(is_no_farewell)
    assert stopping.is_set()
    assert not running.is_alive()
    assert caplog.messages == []


def test_what_went_wrong_otherwise_is_still_said():
    why = (ValueError, ValueError("no tape"), None)
    broken = logging.LogRecord("uvicorn.error", logging.ERROR, "", 0, "Exception in ASGI application", (), why)
    assert is_no_farewell(broken)
