"""Run the rules over loops and keep their findings: only differences are written."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils import timezone

from register.calc.calibration import due_on
from register.loading import collector_paused, load_loops
from register.models import Area, Concession, Finding, Gap, Loop, RuleSetting, Tag, tallies
from register.models.loops import OPEN_COUNTERS
from register.plant import values
from register.plant.completeness import gaps, score_percent
from register.rules.engine import PlantRules, Verdict, check
from register.services import bulk

CHUNK = 2000
"""Loops checked together: enough to make queries rare, few enough to bound memory."""


def settings_for(path: str, settings: Iterable[RuleSetting] | None = None) -> dict[str, RuleSetting]:
    """The plant's setting of each rule in an area: a setting holds below its area too, the nearest wins."""
    if settings is None:
        settings = RuleSetting.objects.in_force().select_related("area", "by")
    holding = [one for one in settings if one.area is None or f"{path} / ".startswith(f"{one.area.path} / ")]
    return {one.rule: one for one in sorted(holding, key=lambda one: len(one.area.path) if one.area else 0)}


def plant_rules_by_area() -> dict[str, PlantRules]:
    """How the plant has set its rules, by area path."""
    settings = list(RuleSetting.objects.in_force().select_related("area"))
    if not settings:
        return defaultdict(PlantRules)
    made = {}
    for path in Area.objects.values_list("path", flat=True):
        nearest = settings_for(path, settings)
        made[path] = PlantRules(
            tolerances={slug: one.tolerance for slug, one in nearest.items() if one.tolerance is not None},
            off=frozenset(slug for slug, one in nearest.items() if one.off),
        )
    return made


def recheck(pks: Collection[int], *, at: datetime) -> dict[int, values.Loop]:
    """Check loops and store what differs. Part of the caller's transaction. Returns the loops as loaded."""
    loops = load_loops(pks, today=timezone.localdate(at))
    store_findings(loops, at=at)
    return loops


def check_plant(*, at: datetime | None = None) -> Iterator[tuple[int, int]]:
    """Check every loop in service, a chunk to a transaction; yields how many are done and of how many."""
    at = at or timezone.now()
    pks = list(Loop.objects.in_service().order_by("pk").values_list("pk", flat=True))
    for start in range(0, len(pks), CHUNK):
        chunk = pks[start : start + CHUNK]
        checked = read_and_check(chunk, at=at)
        with transaction.atomic():
            store(checked, at=at)
        yield start + len(chunk), len(pks)
    tallies.compact()


Said = dict[tuple[str, str, str], Verdict]
"""What the rules say of a loop, by the identity of each finding."""


@dataclass(frozen=True)
class Checked:
    """Loops as they were read, what the rules say of each, and the revisions that they had then."""

    loops: dict[int, values.Loop]
    said: dict[int, Said]
    revisions: dict[int, int]


def read_and_check(pks: Collection[int], *, at: datetime) -> Checked:
    """The long part of a check, outside of any transaction: others may write meanwhile."""
    revisions = _revisions(Loop.objects.filter(pk__in=pks))
    with collector_paused():
        loops = load_loops(pks, today=timezone.localdate(at))
        return Checked(loops, _said(loops), revisions)


def store(checked: Checked, *, at: datetime) -> None:
    """Write what differs; what was changed since it was read is checked again. Part of the caller's transaction."""
    rows = Loop.objects.in_service().select_for_update().filter(pk__in=checked.loops).order_by("pk")
    now = _revisions(rows)
    store_findings(
        {pk: loop for pk, loop in checked.loops.items() if now.get(pk) == checked.revisions[pk]},
        at=at,
        said=checked.said,
    )
    if changed := [pk for pk, number in now.items() if number != checked.revisions[pk]]:
        recheck(changed, at=at)


def _revisions(loops: QuerySet) -> dict[int, int]:
    return dict(loops.values_list("pk", "revision"))


def _said(loops: dict[int, values.Loop]) -> dict[int, Said]:
    by_area = plant_rules_by_area()
    return {
        pk: {verdict.identity: verdict for verdict in check(loop, by_area[loop.area])} for pk, loop in loops.items()
    }


def store_findings(loops: dict[int, values.Loop], *, at: datetime, said: dict[int, Said] | None = None) -> None:
    """Compare what the rules say with what is open, write the difference and keep the loops' counters.

    ``said``: what the rules say of these loops, if they were asked already.
    """
    said = _said(loops) if said is None else said
    today = timezone.localdate(at)
    standing: dict[int, dict[tuple[str, str, str], Finding]] = defaultdict(dict)
    for row in Finding.objects.open().filter(loop__in=loops).select_related("concession"):
        standing[row.loop_id][row.rule, row.subject, row.place] = row
    concessions: dict[int, dict[tuple[str, str, str], Concession]] = defaultdict(dict)
    for one in Concession.objects.filter(loop__in=loops, ended_at__isnull=True):
        concessions[one.loop_id][one.rule, one.subject, one.place] = one
    revisions = dict(Loop.objects.filter(pk__in=loops).values_list("pk", "revision"))
    retired = set(Loop.objects.filter(pk__in=loops, retired_on__isnull=False).values_list("pk", flat=True))
    new, changed, cleared, ended = [], [], [], []
    counters = {}
    for pk in loops:
        verdicts = {} if pk in retired else said[pk]
        counted: list[Verdict] = []
        for identity, verdict in verdicts.items():
            concession = _holding(concessions[pk].get(identity), verdict, today, at, ended)
            if concession is None:
                counted.append(verdict)
            row = standing[pk].pop(identity, None)
            if row is None:
                new.append(_row(pk, verdict, concession, at, revisions[pk]))
            elif _differs(row, verdict, concession):
                changed.append(_updated(row, verdict, concession))
        for row in standing[pk].values():
            row.cleared_at, row.cleared_revision = at, revisions[pk]
            cleared.append(row)
        for identity, concession in concessions[pk].items():
            if identity not in verdicts and concession.ended_at is None:
                _end(concession, "the finding it permitted is gone", at, ended)
        counters[pk] = _counters(counted)
    store_gaps(loops)
    keep_due_dates(loops)
    bulk.add(new)
    Finding.objects.bulk_update(changed, ["severity", "unknown", "text", "facts_sha256", "concession"], batch_size=500)
    Finding.objects.bulk_update(cleared, ["cleared_at", "cleared_revision"], batch_size=500)
    Concession.objects.bulk_update(ended, ["ended_at", "ended_because"], batch_size=500)
    _keep_counters(counters, at)


WHERE_LENGTH = Gap._meta.get_field("where").max_length


def store_gaps(loops: dict[int, values.Loop]) -> None:
    """Note what each loop's record lacks, and its score; only differences are written."""
    standing: dict[int, dict[tuple[str, str], int]] = defaultdict(dict)
    for pk, loop, item, where in Gap.objects.filter(loop__in=loops).values_list("pk", "loop_id", "item", "where"):
        standing[loop][item, where] = pk
    scores = dict(Loop.objects.filter(pk__in=loops).values_list("pk", "completeness_percent"))
    new, gone = [], []
    scored: dict[int, list[int]] = defaultdict(list)
    for pk, loop in loops.items():
        missing = gaps(loop)
        for item, where in dict.fromkeys((gap.item, gap.where[:WHERE_LENGTH]) for gap in missing):
            if standing[pk].pop((item, where), None) is None:
                new.append(Gap(loop_id=pk, item=item, where=where))
        gone.extend(standing[pk].values())
        if scores[pk] != (percent := score_percent(missing)):
            scored[percent].append(pk)
    bulk.add(new)
    Gap.objects.filter(pk__in=gone).delete()
    for percent, pks in scored.items():
        Loop.objects.filter(pk__in=pks).update(completeness_percent=percent)


def keep_due_dates(loops: dict[int, values.Loop]) -> None:
    """Note at each tag when its next calibration is due; only differences are written."""
    due = {
        tag.name: due_on(tag.calibration.on, tag.calibration_interval_months)
        for loop in loops.values()
        for tag in loop.tags
        if tag.calibration and tag.calibration_interval_months
    }
    differing = []
    noted = Q(calibration_interval_months__isnull=False) | Q(calibration_due_on__isnull=False)
    for tag in Tag.objects.filter(noted, loop__in=loops).only("name", "calibration_due_on"):
        if tag.calibration_due_on != due.get(tag.name):
            tag.calibration_due_on = due.get(tag.name)
            differing.append(tag)
    Tag.objects.bulk_update(differing, ["calibration_due_on"], batch_size=500)


def _holding(
    concession: Concession | None, verdict: Verdict, today, at: datetime, ended: list[Concession]
) -> Concession | None:
    """The concession if it still sets the finding aside; else None, and it is ended."""
    if concession is None:
        return None
    if concession.until < today:
        _end(concession, f"it lapsed on {concession.until}", at, ended)
    elif concession.facts_sha256 != verdict.finding.facts_sha256:
        _end(concession, "the facts changed", at, ended)
    return concession if concession.ended_at is None else None


def _end(concession: Concession, because: str, at: datetime, ended: list[Concession]) -> None:
    concession.ended_at, concession.ended_because = at, because
    ended.append(concession)


def _row(pk: int, verdict: Verdict, concession: Concession | None, at: datetime, revision: int) -> Finding:
    return Finding(
        loop_id=pk,
        rule=verdict.rule,
        subject=verdict.finding.subject,
        place=verdict.finding.place,
        severity=verdict.severity,
        unknown=verdict.finding.unknown,
        text=verdict.finding.text,
        facts_sha256=verdict.finding.facts_sha256,
        first_seen=at,
        first_revision=revision,
        concession=concession,
    )


def _differs(row: Finding, verdict: Verdict, concession: Concession | None) -> bool:
    return (
        row.facts_sha256 != verdict.finding.facts_sha256
        or row.text != verdict.finding.text
        or row.severity != verdict.severity
        or row.unknown != verdict.finding.unknown
        or row.concession_id != (concession.pk if concession else None)
    )


def _updated(row: Finding, verdict: Verdict, concession: Concession | None) -> Finding:
    row.severity, row.unknown, row.text = verdict.severity, verdict.finding.unknown, verdict.finding.text
    row.facts_sha256, row.concession = verdict.finding.facts_sha256, concession
    return row


def _counters(verdicts: Iterable[Verdict]) -> tuple[int, ...]:
    """Open errors, warnings and advice, then the cases that a rule cannot tell."""
    verdicts = list(verdicts)
    return (
        *(sum(not one.finding.unknown and one.severity == severity for one in verdicts) for severity in OPEN_COUNTERS),
        sum(one.finding.unknown for one in verdicts),
    )


def _keep_counters(counters: dict[int, tuple[int, ...]], at: datetime) -> None:
    """Note the time on all, and the counts in one statement for each set of counts that changed."""
    columns = (*OPEN_COUNTERS.values(), "open_unknowns")
    Loop.objects.filter(pk__in=counters).update(checked_at=at)
    stored = {pk: tuple(row) for pk, *row in Loop.objects.filter(pk__in=counters).values_list("pk", *columns)}
    pks_by_counts = defaultdict(list)
    for pk, counts in counters.items():
        if stored[pk] != counts:
            pks_by_counts[counts].append(pk)
    for counts, pks in pks_by_counts.items():
        Loop.objects.filter(pk__in=pks).update(**dict(zip(columns, counts, strict=True)))
