"""A PostgreSQL server for the length of a test run, from whatever server programs the machine has."""

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote

# Nothing in it outlives the run, so nothing waits for the disk.
NO_WAITING = "-c fsync=off -c synchronous_commit=off -c full_page_writes=off"


def server_programs() -> Path | None:
    """The folder with initdb and pg_ctl: that of the PATH's initdb, or else the newest that Debian's packages made."""
    on_path = shutil.which("initdb")
    if on_path:
        return Path(on_path).resolve().parent
    versions = Path("/usr/lib/postgresql").glob("*/bin/initdb")
    return max((program.parent for program in versions), key=lambda folder: float(folder.parent.name), default=None)


@contextmanager
def throwaway_server(programs: Path) -> Iterator[str]:
    """Start a server of one's own on a Unix socket, give its database URL, and remove every trace of it at the end."""
    account = unprivileged_account()
    folder = Path(tempfile.mkdtemp(prefix="register-postgresql-", dir="/tmp"))
    run_as = {}
    if account:
        shutil.chown(folder, account.pw_uid, account.pw_gid)
        run_as = {"user": account.pw_uid, "group": account.pw_gid, "extra_groups": []}

    def run(program: str, *arguments: str) -> None:
        log = folder / "output"
        with log.open("ab") as output:
            done = subprocess.run(
                [programs / program, "-D", folder / "data", *arguments],
                stdin=subprocess.DEVNULL, stdout=output, stderr=output, cwd=folder, **run_as,
            )  # fmt: skip
        if done.returncode:
            raise RuntimeError(f"{program} failed:\n{log.read_text()}")

    try:
        run("initdb", "-U", "register", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "--no-sync")
        run("pg_ctl", "-w", "-o", f"-c listen_addresses= -k {folder} {NO_WAITING}", "start")
        try:
            yield f"postgres://register@/register?host={quote(str(folder), safe='')}"
        finally:
            run("pg_ctl", "-w", "-m", "immediate", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def unprivileged_account() -> pwd.struct_passwd | None:
    """Who runs the server when the caller is root, whom PostgreSQL refuses; None for any other caller."""
    if os.geteuid() != 0:
        return None
    known = {account.pw_name: account for account in pwd.getpwall()}
    return known.get("postgres") or known["nobody"]
