"""`python3 manage.py verify_history`: does the history still say what was recorded?"""

from django.core.management.base import BaseCommand, CommandError

from register.services.history import verify_history


class Command(BaseCommand):
    help = "Name each revision that was altered, is missing or out of order, and what differs from the last of them."

    def handle(self, **options):
        walked = verify_history()
        for fault in walked.faults:
            self.stderr.write(str(fault))
        read = f"{walked.revisions} revisions of {walked.loops} loops were read"
        if walked.faults:
            raise CommandError(f"{read}; faults found: {len(walked.faults)}. Compare with a backup from before.")
        self.stdout.write(f"{read}; each follows the one before and says what was recorded.")
