"""`python3 manage.py import_register FILE --by NAME`: a workbook into the register, whole or not at all."""

from pathlib import Path

from django.core.management import CommandError
from django.core.management.base import BaseCommand

from register.exchange.reading import WorkbookRefused, import_workbook
from register.models import User
from register.services.permissions import NotAllowed


class Command(BaseCommand):
    help = "Check a workbook (.xlsx) and bring it in. Every problem is listed, and nothing is imported if there is one."

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path)
        parser.add_argument("--by", required=True, help="the sign-in name of the person who imports it")

    def handle(self, *, file: Path, by: str, **options):
        try:
            person = User.objects.get(username=by)
        except User.DoesNotExist:
            raise CommandError(f"Nobody signs in as “{by}”. Name a planner or an administrator after --by.") from None
        try:
            report = import_workbook(file.read_bytes(), by=person, name=file.name)
        except OSError as error:
            raise CommandError(f"{file} cannot be read ({error.strerror}): name another file.") from None
        except NotAllowed as refusal:
            raise CommandError(str(refusal)) from None
        except WorkbookRefused as refusal:
            for problem in refusal.problems:
                self.stderr.write(str(problem))
            raise CommandError(str(refusal)) from None
        for sheet, counts in report.counts.items():
            line = f"{sheet}: {counts.added} added, {counts.changed} changed, {counts.unchanged} unchanged"
            self.stdout.write(line)
        for name in report.not_read:
            self.stdout.write(f"Not read: {name}")
