"""A site for the length of a script: PostgreSQL, a made plant, web workers and background workers, each a process."""

from __future__ import annotations

import http.client
import os
import re
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from html import unescape
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import urlencode

ROOT = Path(__file__).resolve().parents[2]
FIRST_PORT = 8207


class Site:
    def __init__(self, url: str, folder: Path):
        self.environment = os.environ | {
            "DATABASE_URL": url,
            "VAR_DIR": str(folder),
            "SECRET_KEY": "of a script",
            "JOBS": "workers",
            "DJANGO_SETTINGS_MODULE": "register.settings",
        }
        self.folder = folder
        self.processes: list[subprocess.Popen] = []

    def manage(self, *arguments: str) -> None:
        subprocess.run([sys.executable, "manage.py", *arguments], cwd=ROOT, env=self.environment, check=True)

    def start(self, name: str, *command: str) -> subprocess.Popen:
        log = (self.folder / f"{name}.log").open("wb")
        process = subprocess.Popen(
            [sys.executable, *command], cwd=ROOT, env=self.environment, stdout=log, stderr=log, start_new_session=True
        )
        self.processes.append(process)
        return process

    def web(self, port: int, workers: int = 1) -> subprocess.Popen:
        arguments = ("register.wsgi", "--workers", str(workers), "--bind", f"127.0.0.1:{port}", "--timeout", "120")
        process = self.start(f"web-{port}", "-m", "gunicorn", *arguments)
        for _ in range(300):
            try:
                Person(port, "").get("/sign-in/")
                return process
            except OSError:
                time.sleep(0.2)
        raise RuntimeError(f"no answer on port {port}: see {self.folder}")

    def worker(self, name: str) -> subprocess.Popen:
        return self.start(name, "manage.py", "db_worker", "--worker-id", name, "--interval", "0.5")

    def kill(self, process: subprocess.Popen) -> None:
        """At once and with its children, as a power cut does."""
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()


@contextmanager
def site(*, loops: int) -> Iterator[Site]:
    """Prepared in this process too, which may use the models from then on."""
    sys.path.insert(0, str(ROOT))
    from register.bootstrap.postgresql import server_programs, throwaway_server

    with ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="register-load-")))
        # The database that every server has; its tables go with the server.
        url = stack.enter_context(throwaway_server(server_programs())).replace("/register?", "/postgres?")
        made = Site(url, folder)
        for command in (
            ("migrate", "-v0"),
            ("collectstatic", "--no-input", "-v0"),
            ("make_plant", "--loops", str(loops)),
        ):
            made.manage(*command)
        os.environ.update(made.environment)
        import django

        django.setup()
        try:
            yield made
        finally:
            for process in made.processes:
                if process.poll() is None:
                    made.kill(process)


def signed_in(username: str, role: str) -> str:
    """The session of a person with a role."""
    from django.test import Client

    from register.models import User

    person, _ = User.objects.get_or_create(username=username, defaults={"role": role})
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client.cookies["sessionid"].value


class Person:
    """A browser without scripts: one session, one connection at a time."""

    def __init__(self, port: int, session: str):
        self.port, self.cookies = port, {"sessionid": session} if session else {}

    def get(self, path: str) -> tuple[int, str]:
        return self._ask("GET", path)

    def post(self, path: str, facts: dict[str, str]) -> tuple[int, str]:
        headers = {
            "Content-Type": "application/x-www-form-urlencoded",
            "Referer": f"http://127.0.0.1:{self.port}{path}",
        }
        return self._ask("POST", path, urlencode(facts), headers)

    def form(self, path: str, part: str = "csrfmiddlewaretoken") -> dict[str, str]:
        """What the form of a page would send as it stands: the first that has such a field."""
        status, page = self.get(path)
        if status != 200:
            raise RuntimeError(f"{path} answered {status}")
        forms = _Forms()
        forms.feed(page)
        return next(form for form in forms.found if part in form)

    def _ask(self, method: str, path: str, body: str | None = None, headers: dict | None = None) -> tuple[int, str]:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=180)
        try:
            cookies = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
            connection.request(method, path, body, (headers or {}) | ({"Cookie": cookies} if cookies else {}))
            answer = connection.getresponse()
            for cookie in answer.msg.get_all("Set-Cookie") or ():
                name, value = re.match(r"([^=]+)=([^;]*)", cookie).groups()
                self.cookies[name] = value
            return answer.status, answer.read().decode("utf-8", "replace")
        finally:
            connection.close()


class _Forms(HTMLParser):
    def __init__(self):
        super().__init__()
        self.found: list[dict[str, str]] = []
        self.select = self.text = ""

    def handle_starttag(self, tag, attrs):
        facts = dict(attrs)
        name = facts.get("name")
        if tag == "form":
            self.found.append({})
        if not self.found:
            return
        form = self.found[-1]
        if tag == "input" and name and facts.get("type") not in ("submit", "button", "file"):
            if facts.get("type") in ("checkbox", "radio") and "checked" not in facts:
                return
            form[name] = unescape(facts.get("value") or "")
        elif tag == "textarea" and name:
            self.text = name
            form[name] = ""
        elif tag == "select" and name:
            self.select = name
        elif tag == "option" and self.select and ("selected" in facts or self.select not in form):
            form[self.select] = facts.get("value", "")

    def handle_data(self, data):
        if self.text:
            self.found[-1][self.text] += data

    def handle_endtag(self, tag):
        if tag == "textarea":
            self.text = ""
        elif tag == "select":
            self.select = ""
