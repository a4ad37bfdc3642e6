"""`python3 manage.py export_register FILE`: the whole register as one workbook, or the blank one to fill in."""

from pathlib import Path

from django.core.management import CommandError
from django.core.management.base import BaseCommand

from register.exchange.writing import write_blank_workbook, write_workbook


class Command(BaseCommand):
    help = "Write the whole register to a workbook (.xlsx) that import_register brings in again."

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path)
        parser.add_argument("--blank", action="store_true", help="headings, notes and lists of words, but no rows")

    def handle(self, *, file: Path, blank: bool, **options):
        unfinished = file.with_name(f"{file.name}.unfinished")
        try:
            with unfinished.open("wb") as target:
                (write_blank_workbook if blank else write_workbook)(target)
            unfinished.replace(file)
        except OSError as error:
            raise CommandError(f"{file} cannot be written ({error.strerror}): name another file.") from None
        finally:
            unfinished.unlink(missing_ok=True)
        self.stdout.write(f"Wrote {file} ({file.stat().st_size // 1024} kB)")
