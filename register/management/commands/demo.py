"""`python3 manage.py demo`: an invented plant to try the register with, on this machine alone."""

import errno

from django.core.management import call_command
from django.core.management.base import BaseCommand
from django.core.servers.basehttp import ThreadedWSGIServer, WSGIRequestHandler
from django.core.wsgi import get_wsgi_application

from register.bootstrap.console import detail, give_up, step
from register.models import Loop, User, UserRole

ADDRESS = "127.0.0.1"
PASSWORD = "larkwater"


class Command(BaseCommand):
    help = "Load the demo plant into an SQLite file of its own and serve it on this machine."

    def add_arguments(self, parser):
        parser.add_argument("--port", type=int, default=8000, help="the port to serve on (8000)")

    def handle(self, *, port: int, **options):
        server = listen(port)
        step("Preparing the database")
        call_command("migrate", interactive=False, verbosity=0)
        for role in UserRole:
            add_person(role)
        load_plant()
        check()
        step("Gathering the pages' styles and scripts")
        call_command("collectstatic", interactive=False, verbosity=0)
        serve(server, port)


def listen(port: int) -> ThreadedWSGIServer:
    """Take the port before anything else, so that one in use is told at once."""
    try:
        return ThreadedWSGIServer((ADDRESS, port), WSGIRequestHandler)
    except OverflowError:
        give_up(f"{port} is no port: choose one from 1024 to 65535.")
    except OSError as error:
        other = port + 1 if 1024 <= port < 65535 else 8000
        remedy = f"run `python3 manage.py demo --port {other}`"
        if error.errno == errno.EADDRINUSE:
            give_up(f"Port {port} is taken by another program: stop that, or {remedy}.")
        give_up(f"Port {port} cannot be used ({error.strerror}): {remedy}.")


def add_person(role: UserRole) -> None:
    """A demo sign-in named after its role; one that exists keeps whatever was changed on it."""
    if not User.objects.filter(username=role).exists():
        administers = role == UserRole.ADMINISTRATOR
        User.objects.create_user(role, password=PASSWORD, role=role, is_staff=administers, is_superuser=administers)


def load_plant() -> None:
    from register.exchange.demo import load_demo

    if Loop.objects.exists():
        step("Keeping the demo plant as it was left")
    else:
        step("Importing the demo plant from the spreadsheets in fixtures/")
        load_demo(by=User.objects.get(username=UserRole.PLANNER))
    detail(f"{Loop.objects.count()} loops")


def check() -> None:
    from register.services.checking import check_plant

    step("Checking every loop against every rule")
    for done, total in check_plant():
        detail(f"{done} of {total} loops checked")


def serve(server: ThreadedWSGIServer, port: int) -> None:
    server.set_app(get_wsgi_application())
    step(f"The register is at http://{ADDRESS}:{port}/")
    detail(f"Sign in as {', '.join(UserRole)}; the password of each is {PASSWORD}")
    detail("Press Ctrl+C to stop; what you change is kept in var/ for the next start")
    try:
        server.serve_forever()
    except KeyboardInterrupt:
        print()
        step("Stopped")
    finally:
        server.server_close()
