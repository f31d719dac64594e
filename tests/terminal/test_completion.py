"""Completion as docs/how-to/install.md sets it up: the shell asks the program by a variable, the program answers."""

import os
import shutil
import subprocess
import sys

import pytest


def ask(shell_and_what, **asked):
    surroundings = os.environ | {"_TAPEWRIGHT_COMPLETE": shell_and_what} | asked
    done = subprocess.run(
        [sys.executable, "-m", "tapewright"], env=surroundings, capture_output=True, text=True, check=False
    )
    assert done.stderr == ""
    return done.stdout


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_the_script_is_one_the_shell_takes(shell):
    script = ask(f"{shell}_source")
    assert "_TAPEWRIGHT_COMPLETE" in script
    if shutil.which(shell):
        done = subprocess.run([shell, "-n"], input=script, capture_output=True, text=True, check=False)
        assert (done.returncode, done.stderr) == (0, "")


def test_commands_and_options_are_answered():
    commands = ask("bash_complete", COMP_WORDS="tapewright line ", COMP_CWORD="2").split()
    assert {"plain,read", "plain,compose", "plain,watch"} <= set(commands)
    options = ask("bash_complete", COMP_WORDS="tapewright line read --nom", COMP_CWORD="3").split()
    assert options == ["plain,--nominal"]
