"""The native libraries with which loop sheets become PDF; pip cannot bring them."""

import os
import shutil
import subprocess
import sys

from register.bootstrap.console import detail, give_up, step

DEBIAN_PACKAGES = [
    *("libpango-1.0-0", "libpangoft2-1.0-0", "libharfbuzz-subset0"),
    *("fonts-dejavu-core", "fonts-droid-fallback"),  # the second for Chinese and Japanese
]
OTHER_COMMANDS = {
    "dnf": "sudo dnf install pango dejavu-sans-fonts",
    "zypper": "sudo zypper install libpango-1_0-0 dejavu-fonts",
    "pacman": "sudo pacman -S pango ttf-dejavu",
    "apk": "sudo apk add pango font-dejavu",
    "brew": "brew install pango",
}


def ensure_pdf_libraries() -> None:
    """Install what WeasyPrint loads where that is ours to do (Debian, as root), or end with the command that does."""
    if pdf_libraries_load():
        return
    if shutil.which("apt-get") is None:
        commands = (command for program, command in OTHER_COMMANDS.items() if shutil.which(program))
        remedy = next((f"run `{command}`" for command in commands), "install Pango 1.44 or newer")
        give_up(f"The libraries that print PDF are missing: {remedy} and run this again.")
    if os.geteuid() != 0:
        packages = " ".join(DEBIAN_PACKAGES)
        give_up(f"The libraries that print PDF are missing: run `sudo apt-get install {packages}` and run this again.")
    install_with_apt()
    if not pdf_libraries_load():
        give_up("The libraries that print PDF are installed but do not load: `.venv/bin/weasyprint --info` says why.")


def pdf_libraries_load() -> bool:
    """Whether WeasyPrint finds its libraries, asked in a process of its own so that a failure leaves no trace here."""
    return subprocess.run([sys.executable, "-c", "import weasyprint"], capture_output=True).returncode == 0


def install_with_apt() -> None:
    step(f"Installing the libraries that print PDF with apt-get: {', '.join(DEBIAN_PACKAGES)}")
    quiet = {"env": {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}, "stdin": subprocess.DEVNULL}
    for arguments in (["update"], ["install", "-y", "--no-install-recommends", *DEBIAN_PACKAGES]):
        detail(f"apt-get {arguments[0]}")
        done = subprocess.run(["apt-get", "-q", *arguments], capture_output=True, text=True, **quiet)
        if done.returncode:
            give_up(f"apt-get {arguments[0]} failed: put right what it says and run this again.\n{done.stderr.strip()}")
