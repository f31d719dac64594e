"""Everything a fresh machine needs, from Python 3.11 and nothing else.

    python3 dev.py demo     set up, run the whole job on the practice machine, open the bench on its book
    python3 dev.py test     set up, run every test (this is what CI calls)
    python3 dev.py fast     set up, run the tests that take under ten seconds each
    python3 dev.py shell    set up, open a shell in which `tapewright` is a command; with words after it, run those
    python3 dev.py docs     set up, build the documentation's site; `--serve` shows it and follows changes,
                            `--pictures` makes its pictures anew first
    python3 dev.py setup    set up and stop; .venv/bin/tapewright is then the command

Standard library only; Linux, macOS and Windows.
"""

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
VENV = HERE / ".venv"
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
# Programs the tests use as outside witnesses: program on the path -> Debian package
WITNESSES: dict[str, str] = {
    "ngspice": "ngspice", "chromium": "chromium", "pg_ctlcluster": "postgresql", "mandoc": "mandoc",
}  # fmt: skip


def main(arguments: list[str]) -> int:
    """Run one of the jobs; return its exit code."""
    jobs = {"setup": setup_only, "demo": demo, "test": test, "fast": fast, "shell": shell, "docs": docs}
    if not arguments or arguments[0] not in jobs:
        print(__doc__)
        return 0 if arguments in ([], ["--help"], ["-h"]) else 2
    if sys.version_info < (3, 11):
        print(f"Tapewright needs Python 3.11 or newer; this is {sys.version.split()[0]} at {sys.executable}.")
        return 2
    return jobs[arguments[0]](arguments[1:])


def setup_only(_: list[str]) -> int:
    """Make .venv with the program in it."""
    set_up("base")
    print(f"Ready: {PYTHON.with_name('tapewright')}; `python3 dev.py shell` puts it on the path.")
    return 0


def shell(rest: list[str]) -> int:
    """Open the user's shell, where they stand, with the command on its path; or run `rest` so."""
    set_up("base")
    path = f"{PYTHON.parent}{os.pathsep}{os.environ.get('PATH', os.defpath)}"
    surroundings = os.environ | {"PATH": path, "VIRTUAL_ENV": str(VENV)}
    if not rest:
        print("`tapewright` is a command in this shell; `exit` leaves it.", flush=True)
    program, *words = rest or [os.environ.get("COMSPEC" if os.name == "nt" else "SHELL") or "sh"]
    found = shutil.which(program, path=path)
    if found is None:
        print(f"{program}: no program of that name is on the path.")
        return 2
    return subprocess.run([found, *words], env=surroundings).returncode


def docs(rest: list[str]) -> int:
    """Build the documentation into build/site, which opens without a server or a network."""
    pictures = "--pictures" in rest
    set_up("test" if pictures else "docs")
    if pictures:
        install_witnesses()
        run([str(PYTHON), "scripts/docs_pictures.py"])
    words = [word for word in rest if word not in ("--pictures", "--serve")]
    if "--serve" in rest:
        return subprocess.run([str(PYTHON), "-m", "mkdocs", "serve", *words], cwd=HERE).returncode
    built = subprocess.run([str(PYTHON), "-m", "mkdocs", "build", "--strict", "--quiet", *words], cwd=HERE)
    if built.returncode == 0:
        print(f"Open {HERE / 'build' / 'site' / 'index.html'}")
    return built.returncode


def demo(rest: list[str]) -> int:
    """Run the whole job on the practice machine, then serve the bench until stopped."""
    set_up("base")
    return subprocess.run([str(PYTHON), "-m", "tapewright", "demo", *rest], cwd=HERE).returncode


def test(rest: list[str]) -> int:
    """Run every test; the last lines are pytest's own summary."""
    set_up("test")
    install_witnesses()
    install_page_checks()
    return run_pytest(rest)


def fast(rest: list[str]) -> int:
    """Run the tests that are quick enough for every commit."""
    set_up("test")
    return run_pytest(["-m", "not slow", *rest])


def run_pytest(rest: list[str]) -> int:
    """Run pytest on all cores, arrays kept to one thread each so that the cores are not fought over."""
    one_thread = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")
    command = [str(PYTHON), "-m", "pytest", "-n", str(os.cpu_count() or 1), "--dist", "worksteal", *rest]
    return subprocess.run(command, cwd=HERE, env=os.environ | one_thread).returncode


def set_up(what: str) -> None:
    """Make .venv, install the locked requirements with their hashes, then the project itself.

    Nothing is done when the lock and the project file are those of the last set-up.
    """
    lock = HERE / "requirements" / f"{what}.lock"
    stamp = VENV / "installed.txt"
    made_from = [lock, HERE / "pyproject.toml", HERE / "package-lock.json", HERE / "hatch_build.py"]
    state = hashlib.sha256(b"".join(file.read_bytes() for file in made_from)).hexdigest()
    done = stamp.read_text().split() if stamp.exists() else []
    # the test lock holds the base lock too, so either of them, if current, is enough for base
    if PYTHON.exists() and state in done:
        return
    if not PYTHON.exists():
        make_venv()
    pip = [str(PYTHON), "-m", "pip", "--disable-pip-version-check", "--quiet"]
    print(f"Installing {lock.name} into .venv; the first time takes a minute or two.", flush=True)
    run([*pip, "install", "--require-hashes", "--requirement", str(lock)])
    run([*pip, "install", "--no-deps", "--no-build-isolation", "--editable", str(HERE)])
    stamp.write_text("\n".join([*done[-3:], state]))


def make_venv() -> None:
    """Make .venv; on Debian without the venv package, fetch that first when allowed to."""
    made = subprocess.run([sys.executable, "-m", "venv", str(VENV)], capture_output=True, text=True)
    if made.returncode == 0:
        return
    shutil.rmtree(VENV, ignore_errors=True)
    version = f"python{sys.version_info.major}.{sys.version_info.minor}-venv"
    if not apt_install([version]):
        sys.exit(f"Could not make .venv: {(made.stdout + made.stderr).strip()}\nOn Debian: apt install {version}")
    run([sys.executable, "-m", "venv", str(VENV)])


def install_witnesses() -> None:
    """Install by apt, when root on Debian, the outside programs the tests compare with."""
    missing = sorted({package for program, package in WITNESSES.items() if not shutil.which(program)})
    if missing and not apt_install(missing):
        print("Not installed, so the tests that need them will say so and fail: " + ", ".join(missing))


def install_page_checks() -> None:
    """Install what the tests check the bench page with, from the same lock as the page's own script."""
    stamp = HERE / "node_modules" / "installed.txt"
    state = hashlib.sha256((HERE / "package-lock.json").read_bytes()).hexdigest()
    if not stamp.exists() or stamp.read_text() != state:
        run([str(PYTHON), "hatch_build.py", "--for-tests"])
        stamp.write_text(state)


def apt_install(packages: list[str]) -> bool:
    """Say whether `packages` could be installed."""
    if not shutil.which("apt-get") or not hasattr(os, "geteuid") or os.geteuid() != 0:
        return False
    quiet = os.environ | {"DEBIAN_FRONTEND": "noninteractive"}
    subprocess.run(["apt-get", "update", "-qq"], env=quiet, stdout=subprocess.DEVNULL)
    command = ["apt-get", "install", "-y", "-qq", "--no-install-recommends", *packages]
    return subprocess.run(command, env=quiet, stdout=subprocess.DEVNULL).returncode == 0


def run(command: list[str]) -> None:
    """Run a command; stop with its own words if it fails."""
    result = subprocess.run(command, cwd=HERE)
    if result.returncode:
        sys.exit(f"This step failed (exit {result.returncode}): {' '.join(command)}")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
