"""Make the lock files anew: `python scripts/lock.py` (needs `uv` on the path).

Files with hashes that pip can install: requirements/base.lock is what a user needs and what reads long tables fast,
requirements/docs.lock is that and what builds the documentation's site, requirements/test.lock
is all that and what the tests need. They hold for every Python and system the project supports, so
they fork by environment markers. What a lock holds already stays as it is; `--upgrade` takes the newest.
"""

import subprocess
import sys

LOCKS = {
    "requirements/base.lock": ["pyproject.toml", "requirements/build.in", "--extra", "fast"],
    "requirements/docs.lock": ["pyproject.toml", "requirements/build.in", "--extra", "fast", "--extra", "docs"],
    "requirements/test.lock": ["pyproject.toml", "requirements/build.in", "--extra", "test"],
}


def main() -> int:
    """Write every lock file."""
    for lock, inputs in LOCKS.items():
        command = ["uv", "pip", "compile", "--universal", "--generate-hashes", "--python-version", "3.11"]
        command += ["--quiet", "--no-annotate", "--custom-compile-command", "python scripts/lock.py"]
        subprocess.run([*command, *inputs, "--output-file", lock, *sys.argv[1:]], check=True)
        print("wrote", lock)
    return 0


if __name__ == "__main__":
    sys.exit(main())
