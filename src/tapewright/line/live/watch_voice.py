"""Spoken words for busy hands: how late one contact was, by a speech program of the system.

Picture (one sentence at a time; the next one says the middle of what came meanwhile):

    characters   |    |    |    |    |    |    |
    spoken       "1.5 late".........."0.4 late"....
"""

import shutil
import statistics
import subprocess
from collections.abc import Mapping, Sequence

from tapewright.errors import WrongUseError
from tapewright.line.live.watch import lateness_of

#: stands for what is to be said
WORDS = "{words}"
#: speech programs that systems come with or offer in their packages -> how each is called
PROGRAMS: Mapping[str, tuple[str, ...]] = {
    "say": (WORDS,),
    "spd-say": ("--wait", WORDS),
    "espeak-ng": (WORDS,),
    "espeak": (WORDS,),
    "powershell": ("-NoProfile", "-Command", "Add-Type -AssemblyName System.Speech; "
                   f"(New-Object System.Speech.Synthesis.SpeechSynthesizer).Speak('{WORDS}')"),
}  # fmt: skip
#: out by less than this, in ms, it is said to be right: the ear needs no more
RIGHT_MS = 0.05
#: a program that speaks longer than its few words take has got stuck, s
STUCK_S = 10.0
REMEDY = "install espeak-ng from your system's packages, or name your own program with --speak-with"


def speech_program() -> tuple[str, ...] | None:
    """Return the command of the first speech program there is; None when there is none."""
    for name, words in PROGRAMS.items():
        if (path := shutil.which(name)) is not None:
            return (path, *words)
    return None


def unavailable() -> str:
    """Say why nothing can be spoken here, with the remedy; empty when it can."""
    return "" if speech_program() else f"there is no speech program ({', '.join(PROGRAMS)}): {REMEDY}"


def command_for(own: str | None) -> tuple[str, ...]:
    """Return the command that speaks: the user's own, which takes the words as its argument, or the system's.

    Raises:
        WrongUseError: when there is none.
    """
    if own is not None:
        path = shutil.which(own)
        if path is None:
            raise WrongUseError(f"--speak-with {own}: there is no such program that can be started.")
        return (path, WORDS)
    found = speech_program()
    if found is None:
        raise WrongUseError(f"--speak: {unavailable()}.")
    return found


def sentence(late_ms: float) -> str:
    """Say how late in the fewest words, a tenth of a millisecond being as fine as a screw is turned by ear."""
    if abs(late_ms) < RIGHT_MS:
        return "right"
    return f"{abs(late_ms):.1f} {'late' if late_ms > 0 else 'early'}"


class Voice:
    """Speaks each time the chosen contact closes (or opens) and the last sentence is over.

    Args:
        contact: "1" to "5", or "stop".
        closing: its closing; else its opening.
        command: the program with its arguments, `WORDS` among them.
    """

    def __init__(self, contact: str, *, closing: bool, command: Sequence[str]) -> None:
        self._contact, self._closing, self._command = contact, closing, tuple(command)
        self._waiting: list[float] = []
        self._speaking: subprocess.Popen[bytes] | None = None
        #: why it fell silent; empty while it speaks
        self.silent = ""

    def take(self, event: object) -> None:
        """Take a character in which the contact moved."""
        self._waiting += lateness_of(event, self._contact, closing=self._closing)
        self.tick()

    def tick(self) -> None:
        """Speak what waits, if nothing is being said."""
        if self.silent or not self._waiting or (self._speaking is not None and self._speaking.poll() is None):
            return
        if self._speaking is not None and self._speaking.returncode:
            self.silent = f"the speech program ended with {self._speaking.returncode}"
            return
        said, self._waiting = sentence(statistics.median(self._waiting)), []
        try:
            self._speaking = subprocess.Popen(
                [part.replace(WORDS, said) for part in self._command],
                stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            )  # fmt: skip
        except OSError as reason:
            self.silent = f"the speech program cannot be started: {reason}"

    def close(self) -> None:
        """Let it finish its sentence."""
        if self._speaking is None:
            return
        try:
            self._speaking.wait(STUCK_S)
        except subprocess.TimeoutExpired:
            self._speaking.kill()
            self._speaking.wait()
