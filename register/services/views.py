"""Saved views of lists: a person's own, and those shared with everyone."""

from __future__ import annotations

from django.db import transaction

from register.models import SavedView, User, ViewOf
from register.services.permissions import May, NotAllowed, may, require


def save_view(of: ViewOf, query: str, *, name: str, shared: bool, by: User) -> SavedView:
    """Keep a list under a name. Raises NotAllowed, or ValidationError where the person has a view of that name."""
    require(by, May.READ)
    return _keep(SavedView(owner=by, of=of, query=query), name=name, shared=shared, by=by)


def change_view(view: SavedView, *, name: str, shared: bool, by: User) -> SavedView:
    """Rename one's own view, share it or keep it to oneself. Raises like :func:`save_view`."""
    _require_own(view, by)
    return _keep(view, name=name, shared=shared, by=by)


def remove_view(view: SavedView, *, by: User) -> None:
    """One's own view, or as an administrator one that is shared. Raises NotAllowed."""
    if not (view.shared and may(by, May.ADMINISTER)):
        _require_own(view, by)
    view.delete()


def _require_own(view: SavedView, by: User) -> None:
    if view.owner_id != by.pk:
        raise NotAllowed(f"“{view}” is a view of {view.owner.display_name}, who alone may change it.")


def _keep(view: SavedView, *, name: str, shared: bool, by: User) -> SavedView:
    if shared and not view.shared:
        require(by, May.SHARE_VIEWS)
    view.name, view.shared = name, shared
    with transaction.atomic():
        view.full_clean()
        view.save()
    return view
