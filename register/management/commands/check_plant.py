"""`python3 manage.py check_plant`: every loop against every rule, with the counts at the end."""

from django.core.management.base import BaseCommand

from register.models import Finding
from register.plant.words import Severity
from register.services.checking import check_plant


class Command(BaseCommand):
    help = "Check every loop in service against every rule, and store what is found."

    def handle(self, **options):
        for done, total in check_plant():
            self.stdout.write(f"{done} of {total} loops checked")
        found = Finding.objects.counted()
        for severity in Severity:
            self.stdout.write(f"{severity}: {found.filter(severity=severity, unknown=False).count()}")
        self.stdout.write(f"cannot tell: {found.filter(unknown=True).count()}")
        set_aside = Finding.objects.open().filter(concession__isnull=False).count()
        self.stdout.write(f"set aside by a concession: {set_aside}")
