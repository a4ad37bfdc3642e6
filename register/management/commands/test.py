"""`python3 manage.py test`: the whole suite, on every database that the register supports and this machine has."""

import os
import signal
import subprocess
import sys
from contextlib import ExitStack

from django.conf import settings
from django.core.management.base import BaseCommand

from register.bootstrap.console import detail, give_up, step
from register.bootstrap.postgresql import server_programs, throwaway_server

URL = "REGISTER_TEST_DATABASE_URL"
REQUIRE_ALL = "REGISTER_REQUIRE_ALL"


class Command(BaseCommand):
    help = "Run the tests with pytest on SQLite and, where there is a server, on PostgreSQL. Takes pytest's options."

    def run_from_argv(self, argv: list[str]) -> None:
        sys.exit(run_suite(argv[2:]))


def run_suite(pytest_arguments: list[str]) -> int:
    """Run pytest once for each database; 0 where every run passed, otherwise the first exit code that was not 0."""
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(128 + signal.SIGTERM))  # so that the server is stopped then, too
    outcomes = {}
    with ExitStack() as stack:
        databases = {"SQLite": None}
        if given := os.environ.get(URL):
            databases[f"PostgreSQL ({URL})"] = given
        elif programs := server_programs():
            step("Starting a PostgreSQL server for the tests alone")
            databases[f"PostgreSQL ({programs})"] = stack.enter_context(throwaway_server(programs))
        elif os.environ.get(REQUIRE_ALL):
            give_up(f"{REQUIRE_ALL} is set, but no PostgreSQL server programs were found: install postgresql.")
        else:
            step("Leaving PostgreSQL out: its server programs were not found (Debian: `apt-get install postgresql`)")
        for name, url in databases.items():
            step(f"Running the suite on {name}")
            outcomes[name] = pytest(pytest_arguments, url)
    print()
    for name, exit_code in outcomes.items():
        detail(f"{name}: {'passed' if exit_code == 0 else f'failed (exit code {exit_code})'}")
    return next((code for code in outcomes.values() if code), 0)


def pytest(arguments: list[str], database_url: str | None) -> int:
    environment = {name: value for name, value in os.environ.items() if name != URL}
    if database_url:
        environment[URL] = database_url
    command = [
        sys.executable,
        "-m",
        "pytest",
        f"--config-file={settings.BASE_DIR / '.pytest.ini'}",
        "--numprocesses=auto",
        *arguments,
    ]
    return subprocess.run(command, cwd=settings.BASE_DIR, env=environment).returncode
