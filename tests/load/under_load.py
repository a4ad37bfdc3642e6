"""`python tests/load/under_load.py`: 50 people browsing, 10 saving, two packs and an import at once, for five minutes.

Each person waits a few seconds between pages, as people do. Printed: errors, lost writes, and the time within which
95 of 100 pages came, beside the same pages asked for by one person alone, before.
"""

from __future__ import annotations

import argparse
import random
import statistics
import subprocess
import sys
import threading
import time
from collections import defaultdict
from decimal import Decimal
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.load.site import FIRST_PORT, ROOT, Person, signed_in, site

BROWSING, SAVING, PACKS = 50, 10, 2
ALONE = 15
"""Times that each page is asked for before the load."""


class Seen:
    """What came of the pages: seconds of each kind, and what went wrong. Threads add to it."""

    def __init__(self):
        self.seconds: dict[str, list[float]] = defaultdict(list)
        self.errors: list[str] = []

    def page(self, kind: str, ask, right: tuple[int, ...] = (200,)):
        begun = time.perf_counter()
        try:
            status, page = ask()
        except OSError as error:
            self.errors.append(f"{kind}: {error}")
            return ""
        self.seconds[kind].append(time.perf_counter() - begun)
        if status not in right:
            self.errors.append(f"{kind}: answered {status}")
        return page


def pages_of(person: Person, numbers: list[str], tags: list[str], rng: random.Random):
    """The pages that people open, by kind."""
    return {
        "list of loops": lambda: person.get(f"/loops/?q={rng.choice(numbers)[2:5]}"),
        "loop": lambda: person.get(f"/loops/{rng.choice(numbers)}/"),
        "tag": lambda: person.get(f"/tags/{rng.choice(tags)}/"),
        "findings": lambda: person.get("/findings/"),
    }


def browse(session: str, seed: int, numbers, tags, seen: Seen, until: float, pause_s: float) -> None:
    rng = random.Random(seed)
    person = Person(FIRST_PORT, session)
    pages = pages_of(person, numbers, tags, rng)
    time.sleep(rng.uniform(0, 2 * pause_s))
    while time.monotonic() < until:
        kind = rng.choice(list(pages))
        seen.page(kind, pages[kind])
        time.sleep(rng.uniform(0, 2 * pause_s))


def save(session: str, alarms: list[tuple[str, int]], saved: dict, seen: Seen, until: float, pause_s: float) -> None:
    """Change the dead bands of alarms that nobody else changes; note what was acknowledged."""
    person, rng, count = Person(FIRST_PORT, session), random.Random(str(alarms)), 0
    while time.monotonic() < until:
        tag, alarm = rng.choice(alarms)
        path, count = f"/tags/{tag}/alarms/{alarm}/", count + 1
        try:
            facts = person.form(path, "deadband")
        except (OSError, RuntimeError) as error:
            seen.errors.append(f"form: {error}")
            continue
        facts |= {"deadband": f"1.{count:04}", "reason": "Alarm review"}
        page = seen.page("save", lambda path=path, facts=facts: person.post(path, facts), (302,))
        if page == "":
            saved[alarm] = (facts["deadband"], saved.get(alarm, ("", 0))[1] + 1)
        time.sleep(rng.uniform(0, 2 * pause_s))


def main() -> None:
    given = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    given.add_argument("--loops", type=int, default=10_000)
    given.add_argument("--minutes", type=float, default=5)
    given.add_argument("--pause", type=float, default=5, help="seconds between a person's pages, on average (5)")
    given.add_argument("--sheets", type=int, default=200, help="in each pack (200)")
    given.add_argument("--web", type=int, default=2, help="web workers (2)")
    given = given.parse_args()
    with site(loops=given.loops) as made:
        from register.models import Alarm, Job, Loop, Pack, Revision, Tag

        numbers = list(Loop.objects.values_list("number", flat=True))
        tags = list(Tag.objects.values_list("name", flat=True)[:5000])
        made.web(FIRST_PORT, given.web)
        for name in ("worker-1", "worker-2"):
            made.worker(name)
        session = signed_in("planner", "planner")
        alone, loaded, saved = Seen(), Seen(), {}
        for kind, ask in pages_of(Person(FIRST_PORT, session), numbers, tags, random.Random(0)).items():
            for _ in range(ALONE):
                alone.page(kind, ask)

        until = time.monotonic() + 60 * given.minutes
        threads = [
            threading.Thread(target=browse, args=(session, seed, numbers, tags, loaded, until, given.pause))
            for seed in range(BROWSING)
        ]
        alarms = list(Alarm.objects.order_by("-pk").values_list("tag__name", "pk")[: 10 * SAVING])
        threads += [
            threading.Thread(target=save, args=(session, alarms[at::SAVING], saved, loaded, until, 2 * given.pause))
            for at in range(SAVING)
        ]
        for thread in threads:
            thread.start()
        for at in range(PACKS):
            person = Person(FIRST_PORT, session)
            facts = person.form("/packs/new/", "paper") | {
                "numbers": " ".join(numbers[at * given.sheets :][: given.sheets])
            }
            loaded.page(
                "asking for a pack", lambda person=person, facts=facts: person.post("/packs/new/", facts), (302,)
            )
        workbook = str(ROOT / "fixtures" / "larkwater-maltings.xlsx")
        importing = subprocess.Popen(
            [sys.executable, "manage.py", "import_register", workbook, "--by", "planner"],
            cwd=ROOT, env=made.environment, stdout=subprocess.DEVNULL,
        )  # fmt: skip
        for thread in threads:
            thread.join()
        while Job.objects.filter(ended_at__isnull=True).exists():
            time.sleep(1)

        kept = dict(Alarm.objects.filter(pk__in=saved).values_list("pk", "deadband"))
        lost = [alarm for alarm, (written, _) in saved.items() if kept[alarm] != Decimal(written)]
        acknowledged = sum(count for _, count in saved.values())
        written = Revision.objects.filter(reason="Alarm review", by__username="planner").count()
        made_packs = Pack.objects.filter(made_at__isnull=False).count()
        pages = sum(map(len, loaded.seconds.values()))
        told = [
            f"{given.loops} loops, {given.web} web workers; {pages} pages in {given.minutes:g} min",
            f"errors: {len(loaded.errors)} {sorted(set(loaded.errors))[:5]}",
            f"saves acknowledged: {acknowledged}, revisions written for them: {written}, lost: {len(lost)}",
            f"packs made: {made_packs} of {PACKS}; the import ended with {importing.wait()}",
        ]
        for kind, seconds in sorted(loaded.seconds.items()):
            line = f"{kind}: {len(seconds)} pages, 95 of 100 within {p95(seconds) * 1000:.0f} ms"
            if kind in alone.seconds:
                least = p95(alone.seconds[kind])
                line += f", alone within {least * 1000:.0f} ms: {p95(seconds) / least:.1f} times"
            told.append(line)
        print("\n".join(told))
        if loaded.errors:
            print((made.folder / f"web-{FIRST_PORT}.log").read_text()[-6000:])
        sys.exit(bool(loaded.errors or lost))


def p95(seconds: list[float]) -> float:
    return statistics.quantiles(seconds, n=20)[-1] if len(seconds) > 1 else seconds[0]


if __name__ == "__main__":
    main()
