"""The two commands of the README, run as a person runs them."""

import os
import re
import signal
import socket
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest

from register.bootstrap.postgresql import server_programs

PROJECT = Path(__file__).resolve().parent.parent.parent


@pytest.fixture
def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def test_a_taken_port_is_told_at_once_with_another_to_use(manage, tmp_path):
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        run = manage("demo", "--port", str(port))
    assert run.returncode == 1
    assert f"Port {port} is taken by another program" in run.stderr
    assert "`python3 manage.py demo --port " in run.stderr
    assert len(run.stderr.splitlines()) == 1
    assert not (tmp_path / "var" / "demo.sqlite3").exists()


def start_demo(port: int, environment: dict[str, str]) -> tuple[subprocess.Popen, list[str]]:
    """Start the demo and read what it prints until it serves."""
    demo = subprocess.Popen(
        [sys.executable, "-u", PROJECT / "manage.py", "demo", "--port", str(port)],
        env=environment,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    said = []
    for line in demo.stdout:
        said.append(line.rstrip())
        if "Press Ctrl+C" in line:
            break
    return demo, said


def test_the_demo_serves_pages_and_styles_and_keeps_its_plant_for_the_next_start(free_port, clean_environment):
    for beginning in ("Importing the demo plant", "Keeping the demo plant"):
        demo, said = start_demo(free_port, clean_environment)
        try:
            assert any(beginning in line for line in said), said
            assert any(f"http://127.0.0.1:{free_port}/" in line for line in said), said
            assert any("planner, technician, auditor, administrator" in line for line in said), said
            with urllib.request.urlopen(f"http://127.0.0.1:{free_port}/sign-in/", timeout=30) as page:
                assert page.status == 200
                html = page.read().decode()
            stylesheet = re.search(r'href="(/static/[^"]+\.css)"', html).group(1)
            with urllib.request.urlopen(f"http://127.0.0.1:{free_port}{stylesheet}", timeout=30) as style:
                assert style.headers.get_content_type() == "text/css"
        finally:
            demo.send_signal(signal.SIGINT)
            rest, _ = demo.communicate(timeout=30)
        assert rest.rstrip().endswith("Stopped")


def test_the_suite_runs_on_each_database_says_so_and_fails_when_a_test_does(manage, tmp_path):
    file = tmp_path / "test_vendor.py"
    file.write_text(
        "import pytest\nfrom django.db import connection\n\n"
        "@pytest.mark.django_db\ndef test_vendor():\n"
        "    assert connection.vendor == 'sqlite', 'this is ' + connection.vendor\n"
    )
    run = manage("test", str(file), "--numprocesses=0", "-p", "no:cacheprovider", PATH=os.environ["PATH"])
    assert "1 passed" in run.stdout
    assert "SQLite: passed" in run.stdout
    if server_programs() is None:
        assert run.returncode == 0
        assert "Leaving PostgreSQL out" in run.stdout
    else:
        assert run.returncode == 1
        assert "this is postgresql" in run.stdout
        assert f"PostgreSQL ({server_programs()}): failed (exit code 1)" in run.stdout


def test_check_values_are_run_where_nobody_has_set_a_key(manage):
    run = manage("check_values", str(PROJECT / "tests" / "calc" / "checks.csv"))
    assert (run.returncode, run.stdout.splitlines()[-1]) == (0, "476 passed, 0 failed"), run.stderr
