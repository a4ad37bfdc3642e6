"""Pages over HTTP as two workers serve them, beside the same rows by a hand-written template from one raw query."""

from __future__ import annotations

import http.client
import os
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from urllib.parse import urlencode

from django.conf import settings
from django.core.management import call_command
from django.test import Client

from register.bench.comparison import Comparison
from register.models import Loop, Tag, User

WORKERS = 2
HOST = "127.0.0.1"
SERVE = """
import sys
from django.conf import settings
from django.core.wsgi import get_wsgi_application
from gunicorn.app.base import BaseApplication
application = get_wsgi_application()
settings.ROOT_URLCONF = "register.bench.served"
class Server(BaseApplication):
    def load_config(self):
        for name, value in (("bind", sys.argv[1]), ("workers", int(sys.argv[2])), ("loglevel", "error")):
            self.cfg.set(name, value)
    def load(self):
        return application
Server().run()
"""
FLOOR = "the same rows by a hand-written template from one raw query"


def comparisons() -> Iterator[Comparison]:
    """Lists and a loop's page of the current database."""
    loop = Loop.objects.in_service().filter(tags__isnull=False).order_by("-number").first()
    if loop is None:
        return
    call_command("collectstatic", interactive=False, verbosity=0)
    words = loop.tags.order_by("name").first().name[1:]
    narrowed = {"area": loop.area_id, "kind": loop.kind}
    size = f"{Loop.objects.count()} loops, {Tag.objects.count()} tags, {WORKERS} workers"
    with served() as get:
        for what, ours, floor in (
            ("the first page of the loops", "/loops/", "/floor/first/"),
            ("the last page of the loops", "/loops/?last=1", "/floor/last/"),
            (
                "loops of an area and a kind",
                f"/loops/?{urlencode(narrowed)}",
                f"/floor/filtered/?{urlencode(narrowed)}",
            ),
            ("loops searched by a part of a tag", f"/loops/?q={words}", f"/floor/searched/?q={words}"),
            ("the first page of the tags", "/tags/", "/floor/tags/"),
        ):
            yield Comparison(what, size, FLOOR, get(ours), get(floor))
        yield Comparison(
            f"the page of loop {loop}", size, "a page with nothing on it", get(f"/loops/{loop}/"), get("/floor/empty/")
        )


@contextmanager
def served() -> Iterator[Callable[[str], Callable[[], int]]]:
    """Serve the register to a person who is signed in; gives what makes a call that fetches an address."""
    client = Client()
    client.force_login(User.objects.filter(is_active=True).order_by("pk").first(), settings.AUTHENTICATION_BACKENDS[-1])
    cookie = f"{settings.SESSION_COOKIE_NAME}={client.cookies[settings.SESSION_COOKIE_NAME].value}"
    with socket.socket() as free:
        free.bind((HOST, 0))
        port = free.getsockname()[1]
    server = subprocess.Popen(
        [sys.executable, "-c", SERVE, f"{HOST}:{port}", str(WORKERS)],
        cwd=settings.BASE_DIR,
        env=os.environ | {"DJANGO_SETTINGS_MODULE": "register.settings", "ALLOWED_HOSTS": HOST, "HTTPS": ""},
    )

    def getting(address: str) -> Callable[[], int]:
        def get() -> int:
            connection = http.client.HTTPConnection(HOST, port, timeout=60)
            connection.request("GET", address, headers={"Cookie": cookie})
            answer = connection.getresponse()
            read = len(answer.read())
            connection.close()
            if answer.status != 200:
                raise RuntimeError(f"{address} was answered by {answer.status}.")
            return read

        return get

    try:
        _wait_for(server, port)
        yield getting
    finally:
        server.terminate()
        server.wait()
        client.session.delete()


def _wait_for(server: subprocess.Popen, port: int) -> None:
    for _ in range(300):
        if server.poll() is not None:
            raise RuntimeError("gunicorn did not start.")
        try:
            socket.create_connection((HOST, port), timeout=1).close()
            return
        except OSError:
            time.sleep(0.1)
    raise RuntimeError("gunicorn did not answer.")
