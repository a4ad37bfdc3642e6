"""Who may do what. One table; every service asks it, and every page shows only what it allows."""

from __future__ import annotations

from enum import StrEnum

from register.models import User, UserRole


class May(StrEnum):
    READ = "read the register"
    RECORD_WORK = "record swaps, boards, settings as left and calibrations"
    CHECK_SHEETS = "draft and check loop sheets"
    APPROVE_SHEETS = "approve loop sheets"
    EDIT_REGISTER = "edit loops, the catalogue and stock"
    GRANT_CONCESSIONS = "grant concessions"
    IMPORT = "import spreadsheets"
    SHARE_VIEWS = "share saved views with everyone"
    ADMINISTER = "manage people and plant settings"


_TECHNICIAN = {May.READ, May.RECORD_WORK, May.CHECK_SHEETS}
_PLANNER = _TECHNICIAN | {May.APPROVE_SHEETS, May.EDIT_REGISTER, May.GRANT_CONCESSIONS, May.IMPORT, May.SHARE_VIEWS}

ALLOWED: dict[str, frozenset[May]] = {
    UserRole.AUDITOR: frozenset({May.READ}),
    UserRole.TECHNICIAN: frozenset(_TECHNICIAN),
    UserRole.PLANNER: frozenset(_PLANNER),
    UserRole.ADMINISTRATOR: frozenset(_PLANNER | {May.ADMINISTER}),
}


class NotAllowed(Exception):
    """The person's role does not permit it; the message says what and to whom it belongs."""


def may(user: User, what: May) -> bool:
    return bool(user and user.is_active) and what in ALLOWED.get(user.role, frozenset())


def require(user: User, what: May) -> None:
    """Raises NotAllowed."""
    if not may(user, what):
        roles = ", ".join(role for role, allowed in ALLOWED.items() if what in allowed)
        raise NotAllowed(f"Your role may not {what}. These roles may: {roles}.")
