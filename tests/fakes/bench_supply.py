"""A made-up programmable supply that answers SCPI lines, on a link that can be made to fail, or on a network socket."""

import contextlib
import socket
import threading

from tapewright.motor.supplies.visa_link import LostLinkError


class BenchSupply:
    """The instrument: it goes on living when the link to it does not."""

    def __init__(self, *, volts_per_set=1.0, amps=0.4, watchdog=False):
        self.set_v = self.limit_a = 0.0
        self.on, self.history, self.queue = False, [], []
        self.volts_per_set, self.amps, self.watchdog_s = volts_per_set, amps, 10.0 if watchdog else None
        self.lines = 0

    @property
    def output_v(self):
        return self.set_v * self.volts_per_set if self.on else 0.0

    def hears_nothing_for(self, seconds):
        if self.watchdog_s is not None and seconds >= self.watchdog_s:
            self.on = False

    def say(self, line):
        self.lines += 1
        word, _, value = line.strip().partition(" ")
        answers = {
            "*IDN?": "Skerry Point,bench supply,1,1", "SOUR:CURR?": f"{self.limit_a:.3f}", "OUTP?": str(int(self.on)),
            "MEAS:VOLT?": f"{self.output_v:.4E}", "MEAS:CURR?": f"{min(self.amps, self.limit_a) if self.on else 0:.4E}",
        }  # fmt: skip
        if word == "SYST:ERR?":
            return self.queue.pop(0) if self.queue else '0,"No error"'
        if word == "SOUR:VOLT":
            self.set_v = float(value)
        elif word == "SOUR:CURR":
            self.limit_a = float(value)
        elif word == "OUTP":
            self.on = value in ("ON", "1")
        elif word == "SYST:COMM:GUARD":
            self.watchdog_s = float(value)
        elif word == "*CLS":
            self.queue.clear()
        elif word not in answers:
            self.queue.append('-113,"Undefined header"')
        self.history.append(self.output_v)
        return answers.get(word)


class FailingLink:
    """A link that fails at its nth line, in one of several ways."""

    where = "made-up link"

    def __init__(self, supply, fail_at=None, how=None, for_good=False):
        self.supply, self.fail_at, self.how, self.for_good = supply, fail_at, how, for_good
        self.count, self.dead, self.closed = 0, False, False

    def _pass(self):
        self.count += 1
        if self.dead:
            raise LostLinkError(self.where, expected="an answer", found="no connection")
        if self.count == self.fail_at:
            self.dead = self.how is LostLinkError
            raise LostLinkError(self.where, expected="an answer", found="silence") if self.dead else self.how("induced")

    def write(self, line):
        self._pass()
        self.supply.say(line)

    def ask(self, line):
        self._pass()
        return self.supply.say(line)

    def reopen(self):
        if self.for_good:
            raise LostLinkError(self.where, expected="a connection", found="none")
        self.dead = False

    def close(self):
        self.closed = True


class SupplyOnSocket:
    """The same instrument behind a network socket, for a program of its own to talk to; its cable can be pulled."""

    def __init__(self):
        self.supply, self.heard, self.off = BenchSupply(), threading.Event(), threading.Event()
        self._server = socket.create_server(("127.0.0.1", 0))
        self._port, self._connections = self._server.getsockname()[1], []
        self.address = f"TCPIP::127.0.0.1::{self._port}::SOCKET"
        threading.Thread(target=self._serve, args=(self._server,), daemon=True).start()

    def pull_the_cable(self):
        self.close()
        for connection in self._connections:
            with contextlib.suppress(OSError):
                connection.shutdown(socket.SHUT_RDWR)
        self._connections.clear()

    def plug_it_in(self):
        self._server = socket.create_server(("127.0.0.1", self._port))
        threading.Thread(target=self._serve, args=(self._server,), daemon=True).start()

    def _serve(self, server):
        while True:
            try:
                connection, _ = server.accept()
            except OSError:
                return
            self._connections.append(connection)
            threading.Thread(target=self._talk, args=(connection,), daemon=True).start()

    def _talk(self, connection):
        with contextlib.suppress(OSError), connection, connection.makefile("rw", newline="\n") as both:
            for line in both:
                answer = self.supply.say(line)
                if self.supply.on:
                    self.heard.set()
                elif self.heard.is_set():
                    self.off.set()
                if answer is not None:
                    both.write(answer + "\n")
                    both.flush()

    def close(self):
        with contextlib.suppress(OSError):
            self._server.shutdown(socket.SHUT_RDWR)
        self._server.close()
