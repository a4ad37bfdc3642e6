"""A planner's writes on things: an item arrives, a record of one is corrected."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils import timezone

from register.models import Asset, Loop, User
from register.plant.words import AssetState
from register.services.permissions import May
from register.services.recording import Refused, changing
from register.services.stock import note_moves, note_receipt


def add_asset(facts: Mapping[str, Any], *, by: User, reason: str) -> Asset:
    """Record an item that is not installed yet. Raises ValidationError, which names the fields."""
    return _save(Asset(), facts, by=by, reason=reason)


def correct_asset(asset: Asset, facts: Mapping[str, Any], *, by: User, reason: str) -> Asset:
    """Correct the record of an item; where it or its controller is installed, the loop is checked again."""
    if facts.get("state") == AssetState.IN_SERVICE and not _stands(asset):
        raise Refused("It is in service once it is installed or fitted: record that at its tag.", field="state")
    return _save(asset, facts, by=by, reason=reason)


def _stands(asset: Asset) -> bool:
    return asset.installations.current().exists() or asset.fitted_in.current().exists()


def _save(asset: Asset, facts: Mapping[str, Any], *, by: User, reason: str) -> Asset:
    loops = Loop.objects.where_stands(asset) if asset.pk else ()
    with changing(*loops, by=by, needs=May.EDIT_REGISTER, reason=reason):
        move = {"on": timezone.localdate(), "by": by, "reason": reason}
        if asset.pk:
            note_moves([Asset.objects.get(pk=asset.pk)], facts.get("state", asset.state), **move)
        is_new = asset.pk is None
        for column, fact in facts.items():
            setattr(asset, column, fact)
        asset.full_clean()
        asset.save()
        if is_new and asset.state == AssetState.IN_STORE:
            note_receipt(asset, **move)
        return asset
