"""`python3 manage.py verify_pack FILE`: does a pack of loop sheets still say what the register gave out?"""

from __future__ import annotations

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from register.sheets.verifying import NotAPack, verify_pack


class Command(BaseCommand):
    help = (
        "Hold a pack (PDF or ZIP) against the register: name each sheet that was altered. Ends with 0 if nothing was, "
        "with 1 if something was, with 2 if the file cannot be read or this register did not make it."
    )

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path)

    def handle(self, *, file: Path, **options):
        try:
            verified = verify_pack(file)
        except (NotAPack, OSError) as fault:
            raise CommandError(f"{file}: {fault}", returncode=2) from None
        for fault in verified.faults:
            self.stderr.write(fault)
        read = f"{verified.title}: {verified.sheets} sheets were read"
        if verified.faults:
            raise CommandError(f"{read}; faults found: {len(verified.faults)}.", returncode=1)
        self.stdout.write(f"{read}; each is what the register gave out.")
