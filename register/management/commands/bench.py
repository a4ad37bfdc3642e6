"""`python3 manage.py bench [CASE …]`: our way and its floor, side by side, as medians, spreads and their ratio."""

import json
import os
import platform
from dataclasses import asdict

from django.core.management import CommandError
from django.core.management.base import BaseCommand
from django.db import connection

from register.bench import CASES, Timing, measure


class Command(BaseCommand):
    help = "Time the register beside the floor of each job, alternately."
    requires_system_checks = ()

    def add_arguments(self, parser):
        parser.add_argument(
            "cases", nargs="*", metavar="CASE", help=f"{', '.join(CASES)} or all (all if none is named)"
        )
        parser.add_argument("--rounds", type=int, default=9, help="how often each way is run (9)")
        parser.add_argument("--json", action="store_true", help="print one JSON document, for keeping")

    def handle(self, *, cases: list[str], rounds: int, **options):
        if unknown := [case for case in cases if case not in (*CASES, "all")]:
            raise CommandError(f"There is no case {', '.join(unknown)}: name {', '.join(CASES)} or all.")
        if rounds < 3:
            raise CommandError("A median and a spread need at least 3 rounds.")
        named = list(CASES) if not cases or "all" in cases else cases
        where = {
            "python": platform.python_version(),
            "processors": os.cpu_count(),
            "database": connection.vendor,
        }
        if options["json"]:
            outcomes = [
                {"case": case, **asdict(outcome), "ratio": outcome.ratio} for case, outcome in self.run(named, rounds)
            ]
            self.stdout.write(json.dumps({**where, "rounds": rounds, "outcomes": outcomes}, indent=2))
            return
        self.stdout.write(f"{', '.join(f'{name} {value}' for name, value in where.items())}, {rounds} rounds")
        for case, outcome in self.run(named, rounds):
            self.stdout.write(f"\n{case}: {outcome.what} ({outcome.size})")
            self.stdout.write(f"  the register  {in_ms(outcome.ours)}")
            self.stdout.write(f"  the floor     {in_ms(outcome.floor)}  {outcome.floor_is}")
            self.stdout.write(f"  ratio         {outcome.ratio:.2f}")

    def run(self, cases: list[str], rounds: int):
        for case in cases:
            try:
                for comparison in CASES[case]():
                    yield case, measure(comparison, rounds)
            except ModuleNotFoundError as missing:
                raise CommandError(
                    f"{case} compares with {missing.name}, which is not installed: run "
                    "`python3 -m pip install -r tests/requirements.txt`."
                ) from None


def in_ms(timing: Timing) -> str:
    return f"{timing.median_s * 1000:.4g} ms [{timing.least_s * 1000:.4g} to {timing.most_s * 1000:.4g}]"
