"""`python tests/load/one_is_killed.py`: two web workers, two background workers, one PostgreSQL; one of each is killed.

The check of the whole plant is asked for at one web worker. While both background workers are at it, the one that
began it is killed, and so is that web worker. What must hold then: every part is done once, the findings are those that
the plant was made with, and the other web worker tells so.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.load.site import FIRST_PORT, Person, signed_in, site


def main() -> None:
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("--loops", type=int, default=10_000)
    loops = given.parse_args().loops
    with site(loops=loops) as made:
        from django.utils import timezone
        from django_tasks_db.models import DBTaskResult

        from register.models import Finding, Job, JobPart, Loop
        from register.plant.invented import Plant

        session = signed_in("planner", "planner")
        web, other_web = made.web(FIRST_PORT), made.web(FIRST_PORT + 1)
        workers = {name: made.worker(name) for name in ("worker-1", "worker-2")}
        Loop.objects.update(checked_at=None)
        begun = time.monotonic()
        person = Person(FIRST_PORT, session)
        status, _ = person.post("/findings/check/", person.form("/findings/check/"))
        assert status == 302, status
        while not JobPart.objects.filter(done_at__isnull=False).exists():
            time.sleep(0.05)
        busy = DBTaskResult.objects.get(status="RUNNING", task_path__endswith="run_job").worker_ids[-1]
        before = dict(JobPart.objects.filter(done_at__isnull=False).values_list("pk", "done_at"))
        made.kill(workers[busy])
        made.kill(web)
        print(f"killed {busy} and a web worker after {len(before)} of {JobPart.objects.count()} parts")

        person = Person(FIRST_PORT + 1, session)
        job = Job.objects.get()
        while job.ended_at is None:
            status, _ = person.get("/findings/check/")
            assert status == 200, status
            time.sleep(0.5)
            job.refresh_from_db()
        assert other_web.poll() is None
        after = dict(JobPart.objects.values_list("pk", "done_at"))
        put_in = {found for use in Plant(loops, 1, timezone.localdate()).uses() for found in use.found}
        print(f"{job.message} {job.done} of {job.total} loops, {time.monotonic() - begun:.0f} s after it was asked for")
        checks = {
            "the job ended well": job.message == "Done." and not job.failed,
            "no loop was lost": not Loop.objects.filter(checked_at=None).exists(),
            "what was done was not repeated": all(after[pk] == at for pk, at in before.items()),
            "the findings are those put in": set(Finding.objects.open().values_list("rule", "subject")) == put_in,
            "nobody waits for anything": not DBTaskResult.objects.filter(status="READY", task_path__endswith="run_job"),
        }
        for what, holds in checks.items():
            print(f"{'yes' if holds else 'NO '}  {what}")
        sys.exit(not all(checks.values()))


if __name__ == "__main__":
    main()
