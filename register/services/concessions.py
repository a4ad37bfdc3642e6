"""Concessions: a finding set aside, signed and dated, until it lapses or its facts change."""

from __future__ import annotations

from datetime import date

from django.utils import timezone

from register.models import Concession, Finding, User
from register.services.permissions import May
from register.services.recording import Refused, changing


def grant_concession(
    finding: Finding, *, reason: str, until: date, reference: str, by: User, seen_revision: int
) -> Concession:
    """Set an open finding aside. It comes back by itself after the date, or when what it states changes."""
    if finding.cleared_at is not None:
        raise Refused("This finding is cleared already; there is nothing to concede.")
    if finding.concession_id is not None:
        raise Refused("A concession already sets this finding aside. End it before granting another.")
    if until <= timezone.localdate():
        raise Refused("The concession would have lapsed already. Give a day to come.", field="until")
    with changing(
        finding.loop,
        by=by,
        needs=May.GRANT_CONCESSIONS,
        reason=f"Concession for {finding.rule} at {finding.subject}: {reason}",
        seen_revision=seen_revision,
    ) as at:
        return Concession.objects.create(
            loop=finding.loop,
            rule=finding.rule,
            subject=finding.subject,
            place=finding.place,
            facts_sha256=finding.facts_sha256,
            reason=reason,
            reference=reference,
            until=until,
            by=by,
            at=at,
        )


def end_concession(concession: Concession, *, reason: str, by: User) -> None:
    """Withdraw a concession before its day."""
    if concession.ended_at is not None:
        raise Refused(f"This concession ended already: {concession.ended_because}.")
    with changing(concession.loop, by=by, needs=May.GRANT_CONCESSIONS, reason=f"Concession withdrawn: {reason}") as at:
        concession.ended_at, concession.ended_because = at, f"withdrawn: {reason}"
        concession.save(update_fields=["ended_at", "ended_because"])
