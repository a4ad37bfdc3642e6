"""How the plant sets a rule: a tolerance of its own, or switched off, each with a reason."""

from __future__ import annotations

from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from register.models import Area, Loop, RuleSetting, User
from register.services.checking import recheck
from register.services.permissions import May, require


def set_rule(
    rule: str, *, area: Area | None, off: bool, tolerance: Decimal | None, reason: str, by: User
) -> RuleSetting:
    """Set a rule for an area, or with none for the plant, and check the loops there again."""
    require(by, May.ADMINISTER)
    at = timezone.now()
    with transaction.atomic():
        _end(rule, area, by, at)
        setting = RuleSetting.objects.create(
            rule=rule, area=area, off=off, tolerance=tolerance, reason=reason, by=by, at=at
        )
        _recheck_under(area, at)
    return setting


def unset_rule(rule: str, *, area: Area | None, by: User) -> None:
    """Give the rule back its own tolerance and put it in force."""
    require(by, May.ADMINISTER)
    at = timezone.now()
    with transaction.atomic():
        _end(rule, area, by, at)
        _recheck_under(area, at)


def _end(rule: str, area: Area | None, by: User, at) -> None:
    RuleSetting.objects.in_force().filter(rule=rule, area=area).update(ended_by=by, ended_at=at)


def _recheck_under(area: Area | None, at) -> None:
    loops = Loop.objects.in_service() if area is None else Loop.objects.in_service().in_area(area)
    recheck(list(loops.values_list("pk", flat=True)), at=at)
