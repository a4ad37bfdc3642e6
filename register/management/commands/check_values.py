"""`python3 manage.py check_values FILE`: published check values against the functions that the product uses."""

from pathlib import Path

from django.core.management import CommandError
from django.core.management.base import BaseCommand

from register.calc.check_values import MalformedFile, run_file


class Command(BaseCommand):
    help = "Run a CSV file of check values and list every row that does not agree."
    requires_system_checks = ()

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path)

    def handle(self, *, file: Path, **options):
        try:
            results = run_file(file)
        except OSError as error:
            raise CommandError(f"{file} cannot be read ({error.strerror}): name another file.") from None
        except MalformedFile as fault:
            raise CommandError(str(fault)) from None
        failed = [result for result in results if not result.passed]
        for result in failed:
            self.stdout.write(f"{result.id}: got {result.got}, expected {result.expected}")
        self.stdout.write(f"{len(results) - len(failed)} passed, {len(failed)} failed")
        if failed:
            raise SystemExit(1)
