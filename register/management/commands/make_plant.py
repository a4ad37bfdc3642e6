"""`python3 manage.py make_plant --loops N`: an invented plant of any size, to see how the register carries it."""

from datetime import date

from django.core.management import CommandError
from django.core.management.base import BaseCommand
from django.utils import timezone

from register.models import User, UserRole
from register.plant.invented import Plant
from register.services.checking import check_plant
from register.services.making import make_plant
from register.services.recording import Refused


class Command(BaseCommand):
    help = "Fill an empty database with an invented plant, its faults at known places and its history, and check it."

    def add_arguments(self, parser):
        parser.add_argument("--loops", type=int, default=1000, help="how many (1000); tags are five times as many")
        parser.add_argument("--seed", type=int, default=1, help="the same seed gives the same plant (1)")
        parser.add_argument(
            "--today", type=date.fromisoformat, help="the day up to which its history goes (YYYY-MM-DD, else today)"
        )

    def handle(self, *, loops: int, seed: int, today: date | None, **options):
        if loops < 1:
            raise CommandError("A plant has at least one loop.")
        plant = Plant(loops, seed, today or timezone.localdate())
        try:
            for done in make_plant(plant, by=author()):
                self.stdout.write(f"{done} of {loops} loops written")
        except Refused as refusal:
            raise CommandError(str(refusal)) from None
        for done, total in check_plant():
            self.stdout.write(f"{done} of {total} loops checked")
        self.stdout.write(f"{sum(len(use.found) for use in plant.uses())} findings were put in on purpose")


def author() -> User:
    """Who recorded the plant's history; nobody can sign in as this person."""
    person, made = User.objects.get_or_create(
        username="plant.maker", defaults={"role": UserRole.PLANNER, "first_name": "Plant", "last_name": "Maker"}
    )
    if made:
        person.set_unusable_password()
        person.save()
    return person
