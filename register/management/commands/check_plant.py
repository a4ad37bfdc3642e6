"""`python3 manage.py check_plant`: every loop against every rule, with the counts at the end."""

from django.core.management import CommandError
from django.core.management.base import BaseCommand

from register.jobs.checking import check, helped
from register.jobs.running import doing, queue
from register.models import Finding
from register.plant.words import Severity


class Command(BaseCommand):
    help = "Check every loop in service against every rule, and store what is found."

    def add_arguments(self, parser):
        parser.add_argument("--processes", type=int, default=1, help="how many work on it (1)")

    def handle(self, *, processes: int, **options):
        if processes < 1:
            raise CommandError("At least one process must work on it.")
        job, _ = queue(check, by=None)
        with helped(job, processes - 1):
            for done, total in doing(job.pk):
                self.stdout.write(f"{done} of {total} loops checked")
        job.refresh_from_db()
        if job.ended_at is None:
            raise CommandError("Another process checks the plant already: its progress stands on the findings page.")
        if job.failed:
            raise CommandError(job.message)
        found = Finding.objects.counted()
        for severity in Severity:
            self.stdout.write(f"{severity}: {found.filter(severity=severity, unknown=False).count()}")
        self.stdout.write(f"cannot tell: {found.filter(unknown=True).count()}")
        set_aside = Finding.objects.open().filter(concession__isnull=False).count()
        self.stdout.write(f"set aside by a concession: {set_aside}")
