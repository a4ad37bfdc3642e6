"""The Python environment: `.venv` beside manage.py with exactly the pinned requirements."""

import importlib
import os
import subprocess
import sys
from collections.abc import Iterator
from importlib import metadata
from importlib.util import find_spec
from pathlib import Path

from register.bootstrap.console import detail, give_up, step

NETWORK_FAULTS = (
    "NewConnectionError",
    "NameResolutionError",
    "ConnectTimeoutError",
    "ReadTimeoutError",
    "ProxyError",
    "Network is unreachable",
)


def install_requirements(venv: Path, files: list[Path]) -> None:
    """Go on in an environment that holds every pinned requirement: this one if it does, or else `.venv`."""
    if not missing(files):
        return
    if not inside(venv):
        if not works(venv):
            make(venv)
        run_again_in(venv)
    install(files)
    importlib.invalidate_caches()
    if still_missing := missing(files):
        give_up(f"pip ran, but {', '.join(still_missing)} is not there: delete {venv} and run this again.")


def use_environment(venv: Path, files: list[Path]) -> None:
    """Go on in `.venv` where it is needed and there, and say how to make it where nothing else will do."""
    if missing(files) and not inside(venv) and works(venv):
        run_again_in(venv)
    if find_spec("django") is None:
        give_up(
            "Django is not installed for this Python: run `python3 manage.py demo` once, which makes .venv with all "
            "that is needed, or `python3 -m pip install -r requirements.txt` in an environment of your own."
        )


def missing(files: list[Path]) -> list[str]:
    """The pinned requirements (name==version) that this Python does not have in exactly that version."""
    return [pin for file in files for pin in pins(file) if not installed(pin)]


def pins(file: Path) -> Iterator[str]:
    for line in file.read_text(encoding="utf-8").splitlines():
        if pin := line.partition("#")[0].strip():
            yield pin


def installed(pin: str) -> bool:
    name, _, version = pin.partition("==")
    try:
        return metadata.version(name.partition("[")[0]) == version
    except metadata.PackageNotFoundError:
        return False


def inside(venv: Path) -> bool:
    return Path(sys.prefix).resolve() == venv.resolve()


def python_of(venv: Path) -> Path:
    return venv / "bin" / "python"


def works(venv: Path) -> bool:
    """Whether the environment was made whole, by a Python that is still there and new enough."""
    check = "import pip, sys; sys.exit(sys.version_info < (3, 11))"
    try:
        return subprocess.run([python_of(venv), "-c", check], capture_output=True).returncode == 0
    except OSError:
        return False


def make(venv: Path) -> None:
    if find_spec("venv") is None or find_spec("ensurepip") is None:
        package = f"python3.{sys.version_info.minor}-venv"
        give_up(
            f"This Python lacks its venv module: install it (Debian, Ubuntu: `apt-get install {package}`) and run "
            "this again."
        )
    step(f"Making {venv}, a Python environment for the register alone")
    made = subprocess.run([sys.executable, "-m", "venv", "--clear", venv], capture_output=True, text=True)
    if made.returncode:
        give_up(f"{venv} could not be made: {(made.stderr or made.stdout).strip()}")


def run_again_in(venv: Path) -> None:
    sys.stdout.flush()
    python = str(python_of(venv))
    os.execv(python, [python, *sys.argv])


def install(files: list[Path]) -> None:
    """Let pip install the requirements in one call, so that it sees them all when it resolves versions."""
    step("Installing the requirements from the Python package index (a minute or two, once)")
    arguments = ["--disable-pip-version-check", "--no-input", "install", "--retries", "1"]
    for file in files:
        arguments += ["-r", str(file)]
    said = []
    with subprocess.Popen(
        [sys.executable, "-m", "pip", *arguments], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    ) as pip:
        for line in pip.stdout:
            said.append(line.rstrip())
            if line.startswith(("Collecting ", "Installing ")):
                detail(line.partition(" (from")[0].strip())
    if pip.returncode == 0:
        return
    if any(fault in line for line in said for fault in NETWORK_FAULTS):
        give_up(
            "The Python package index cannot be reached: connect this machine to the network (behind a proxy, set "
            "HTTPS_PROXY; with a mirror, PIP_INDEX_URL) and run this again."
        )
    give_up("pip could not install the requirements:\n" + "\n".join(said[-15:]))
