"""`tapewright motor supply`: practice machine, by hand, over a socket; off when the program is told to stop."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import jsonschema
import pytest

from fakes.bench_supply import SupplyOnSocket
from tapewright.terminal.run import run

SCHEMA = json.loads((Path(__file__).parents[2] / "docs" / "reference" / "schemas" / "supply.json").read_text("utf-8"))
CEILING = ["--first-volts", "40", "--most-volts", "70", "--most-amps", "1.5"]
WORDS = [*CEILING, "--rpm", "1800", "--acknowledged"]


def call(*words, typed=""):
    """Run it as its own program, with what is typed."""
    command = [sys.executable, "-m", "tapewright", "motor", "supply", *words]
    return subprocess.run(command, input=typed, capture_output=True, text=True, timeout=60)


@pytest.mark.parametrize("machine", ["heron", "petrel"])
def test_the_practice_machine(capsys, machine):
    assert run(["motor", "supply", "--to", f"practice:{machine}", *WORDS, "--no-confirm", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    jsonschema.validate(found, SCHEMA)
    assert (found["state"], found["output_off"], found["moves"] <= 4) == ("done", True, True)
    assert max(step["volts"] for step in found["steps"]) <= 70


def test_a_current_limit_that_is_too_low_is_said(capsys):
    words = ["--first-volts", "40", "--most-volts", "70", "--most-amps", "0.45", "--rpm", "1800", "--acknowledged"]
    assert run(["motor", "supply", "--to", "practice:petrel", *words, "--no-confirm"]) == 1
    assert "current limit" in capsys.readouterr().err


def test_by_hand():
    done = call("--to", "hand", *WORDS, "--json", typed="\n1500\n\n1790\n\n1800\n")
    found = json.loads(done.stdout)
    jsonschema.validate(found, SCHEMA)
    assert (done.returncode, found["state"], found["output_off"]) == (0, "done", None)
    assert "Set the supply to 40.00 V by hand" in done.stderr
    stopped = call("--to", "hand", *WORDS, typed="\nwhat\n1500\n\nstop\n")
    assert stopped.returncode == 3
    assert "Expected a number near 1800" in stopped.stderr
    assert "Switch the supply off" in stopped.stdout


def test_a_supply_over_the_network():
    bench = SupplyOnSocket()
    done = call("--to", bench.address, *CEILING, "--rpm", "1800", "--acknowledged", "--json", typed="\nno\n")
    # Enter pressed again while the motor settles: off
    assert json.loads(done.stdout)["output_off"]
    assert (done.returncode, bench.supply.on) == (3, False)
    assert max(bench.supply.history) == 40
    bench.close()


@pytest.mark.skipif(os.name == "nt", reason="signals as POSIX has them")
@pytest.mark.parametrize("told", [signal.SIGTERM, signal.SIGINT, signal.SIGHUP])
def test_told_to_stop_it_switches_off(told):
    bench = SupplyOnSocket()
    command = [sys.executable, "-m", "tapewright", "motor", "supply", "--to", bench.address, *WORDS, "--no-confirm"]
    program = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    try:
        assert bench.heard.wait(30), "the output never went on"
        time.sleep(0.3)
        assert bench.supply.on
        program.send_signal(told)
        assert program.wait(20) == 130
        assert not bench.supply.on
    finally:
        program.kill()
        program.communicate()
        bench.close()


def test_the_caution_stands_first(capsys):
    assert run(["motor", "supply", *CEILING, "--rpm", "1800"]) == 2
    told = capsys.readouterr().err
    assert "runs away" in told
    assert "--acknowledged" in told


@pytest.mark.parametrize("words", [
    ["--first-volts", "80", "--most-volts", "70", "--most-amps", "1"], ["--first-volts", "8"],
    [*CEILING, "--to", "practice:gull", "--acknowledged"],
])  # fmt: skip
def test_wrong_use_is_said(capsys, words):
    assert run(["motor", "supply", *words]) == 2
    assert "Traceback" not in capsys.readouterr().err


def test_nobody_answers(capsys):
    assert run(["motor", "supply", "--to", "TCPIP::127.0.0.1::9::SOCKET", *WORDS]) == 4
    assert "switched on" in capsys.readouterr().err
