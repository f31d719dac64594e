"""A second bench on the local network: only when asked for, and only after the printed pairing code was entered.

stranger --code--> right: gets a pass (a cookie), may come in
wrong: a minute's wait after five of them, for everybody
"""

import hmac
import secrets
import threading
from collections.abc import Callable
from dataclasses import dataclass, field

DIGITS = 8
WRONG_ALLOWED, WAIT_S = 5, 60.0


@dataclass(slots=True)
class Sharing:
    """Who was let in.

    Attributes:
        clock: gives seconds that never run backwards.
        code: what is printed where the server was started.
    """

    clock: Callable[[], float]
    code: str = field(default_factory=lambda: f"{secrets.randbelow(10**DIGITS):0{DIGITS}d}")
    _passes: set[str] = field(default_factory=set)
    _wrong: int = 0
    _shut_until: float = 0.0
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def pair(self, code: str) -> str | None:
        """Return a pass for the right code, None for a wrong one or while shut."""
        typed = "".join(filter(str.isdecimal, code))
        with self._lock:
            if self.clock() < self._shut_until:
                return None
            if not hmac.compare_digest(typed.encode(), self.code.encode()):
                self._count_wrong()
                return None
            self._wrong = 0
            passed = secrets.token_urlsafe(32)
            self._passes.add(passed)
            return passed

    def let_in(self, passed: str) -> bool:
        """Return whether this pass was given out by this start."""
        with self._lock:
            return any(hmac.compare_digest(passed.encode(), known.encode()) for known in self._passes)

    def _count_wrong(self) -> None:
        self._wrong += 1
        if self._wrong >= WRONG_ALLOWED:
            self._wrong, self._shut_until = 0, self.clock() + WAIT_S
