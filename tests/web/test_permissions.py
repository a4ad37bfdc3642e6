"""Every address of the register, every method, every role: who may stands in one table, here."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver
from django.utils import timezone

from register.exchange.dexpi.keeping import keep
from register.exchange.foreign.keeping import begin
from register.exchange.reading import read_workbook
from register.jobs.imports import propose
from register.models import Alarm, Area, Cable, Finding, Link, Pack, Port, RuleSetting, Tag, User, UserRole
from register.plant import sketch
from register.plant.words import PlannedKind
from register.services import many
from register.services.catalogue import correct_model
from register.services.issuing import approve_issue, check_issue, draft_issue
from register.services.rule_settings import set_rule
from register.services.stock import plan_movement
from register.services.views import save_view
from tests import factories
from tests.browser import (
    DESK,
    PHONE,
    SMALL_DESK,
    assert_accessible,
    assert_fits,
    assert_fits_at_twice_the_text,
    assert_readable_in_every_theme,
)
from tests.exchange.dexpi import drawings
from tests.exchange.workbooks import workbook

ALL = frozenset(UserRole)
WORKERS = ALL - {UserRole.AUDITOR}
PLANNERS = WORKERS - {UserRole.TECHNICIAN}
ADMINISTRATORS = frozenset({UserRole.ADMINISTRATOR})
NOBODY: frozenset[UserRole] = frozenset()
"""The method is not taken (405)."""

# address by name: who may read it, who may send to it
TABLE: dict[str, tuple[frozenset[UserRole], frozenset[UserRole]]] = {
    "home": (ALL, NOBODY),
    "search": (ALL, NOBODY),
    "parts": (ADMINISTRATORS, ADMINISTRATORS),
    "accounts:sign-out": (NOBODY, ALL),
    "accounts:password": (ALL, ALL),
    "loops:list": (ALL, NOBODY),
    "loops:detail": (ALL, NOBODY),
    "sheets:pdf": (ALL, NOBODY),
    "sheets:diagram": (ALL, NOBODY),
    "issues:list": (ALL, NOBODY),
    "issuing:list": (ALL, NOBODY),
    "issues:draft": (WORKERS, WORKERS),
    "issues:check": (WORKERS, WORKERS),
    "issues:approve": (PLANNERS, PLANNERS),
    "issues:pdf": (ALL, NOBODY),
    "loops:create": (PLANNERS, PLANNERS),
    "loops:edit": (PLANNERS, PLANNERS),
    "tags:list": (ALL, NOBODY),
    "workbench:save": (ALL, ALL),
    "workbench:change": (ALL, ALL),
    "tags:detail": (ALL, NOBODY),
    "tags:create": (PLANNERS, PLANNERS),
    "tags:edit": (PLANNERS, PLANNERS),
    "tags:settings": (WORKERS, WORKERS),
    "tags:port_create": (PLANNERS, PLANNERS),
    "tags:port": (PLANNERS, PLANNERS),
    "tags:port_remove": (PLANNERS, PLANNERS),
    "tags:alarm_create": (PLANNERS, PLANNERS),
    "tags:alarm": (PLANNERS, PLANNERS),
    "tags:alarm_remove": (PLANNERS, PLANNERS),
    "tags:link_create": (PLANNERS, PLANNERS),
    "tags:link": (PLANNERS, PLANNERS),
    "tags:link_remove": (PLANNERS, PLANNERS),
    "tags:install": (WORKERS, WORKERS),
    "tags:remove": (WORKERS, WORKERS),
    "tags:fit_board": (WORKERS, WORKERS),
    "tags:remove_board": (WORKERS, WORKERS),
    "offline:page": (ALL, NOBODY),
    "offline:swap": (WORKERS, NOBODY),
    "offline:area": (ALL, NOBODY),
    "panel:panel": (ALL, NOBODY),
    "labels:tags": (ALL, NOBODY),
    "labels:assets": (ALL, NOBODY),
    "labels:tag": (ALL, NOBODY),
    "labels:asset": (ALL, NOBODY),
    "swaps:what_fits": (ALL, NOBODY),
    "swaps:where_it_fits": (ALL, NOBODY),
    "swaps:replace": (WORKERS, WORKERS),
    "swaps:step": (WORKERS, WORKERS),
    "swaps:review": (WORKERS, WORKERS),
    "swaps:discard": (WORKERS, WORKERS),
    "calibrations:list": (ALL, NOBODY),
    "calibrations:record": (WORKERS, WORKERS),
    "calibrations:detail": (ALL, NOBODY),
    "calibrations:certificate": (ALL, NOBODY),
    "tags:link_cores": (PLANNERS, PLANNERS),
    "cables:list": (ALL, NOBODY),
    "cables:detail": (ALL, NOBODY),
    "cables:create": (PLANNERS, PLANNERS),
    "cables:edit": (PLANNERS, PLANNERS),
    "loops:retire": (PLANNERS, PLANNERS),
    "tags:retire": (PLANNERS, PLANNERS),
    "assets:create": (PLANNERS, PLANNERS),
    "assets:edit": (PLANNERS, PLANNERS),
    "assets:list": (ALL, NOBODY),
    "assets:detail": (ALL, NOBODY),
    "catalogue:list": (ALL, NOBODY),
    "catalogue:detail": (ALL, NOBODY),
    "catalogue:create": (PLANNERS, PLANNERS),
    "catalogue:edit": (PLANNERS, PLANNERS),
    "catalogue:port_create": (PLANNERS, PLANNERS),
    "catalogue:port": (PLANNERS, PLANNERS),
    "catalogue:port_remove": (PLANNERS, PLANNERS),
    "catalogue:bay_create": (PLANNERS, PLANNERS),
    "catalogue:bay": (PLANNERS, PLANNERS),
    "catalogue:bay_remove": (PLANNERS, PLANNERS),
    "catalogue:families": (ALL, NOBODY),
    "catalogue:family_create": (PLANNERS, PLANNERS),
    "catalogue:family": (PLANNERS, PLANNERS),
    "audit:page": (ALL, NOBODY),
    "audit:pdf": (ALL, NOBODY),
    "audit:xlsx": (ALL, NOBODY),
    "audit:csv": (ALL, NOBODY),
    "audit:json": (ALL, NOBODY),
    "packs:list": (ALL, NOBODY),
    "packs:ask": (ALL, ALL),
    "packs:detail": (ALL, ALL),
    "packs:cancel": (ALL, ALL),
    "packs:delete_file": (PLANNERS, PLANNERS),
    "packs:download": (ALL, NOBODY),
    "obsolescence:list": (ALL, NOBODY),
    "obsolescence:detail": (ALL, NOBODY),
    "many:edit": (PLANNERS, PLANNERS),
    "many:list": (ALL, NOBODY),
    "many:detail": (ALL, NOBODY),
    "many:undo": (PLANNERS, PLANNERS),
    "spares:short": (ALL, NOBODY),
    "spares:list": (ALL, NOBODY),
    "spares:pdf": (ALL, NOBODY),
    "spares:orders_pdf": (ALL, NOBODY),
    "spares:orders_xlsx": (ALL, NOBODY),
    "spares:detail": (ALL, NOBODY),
    "spares:budget": (ALL, NOBODY),
    "spares:one_failure": (ALL, NOBODY),
    "spares:kit": (ALL, PLANNERS),
    "spares:kit_pdf": (ALL, NOBODY),
    "spares:kit_xlsx": (ALL, NOBODY),
    "spares:movements": (ALL, NOBODY),
    "spares:move": (PLANNERS, PLANNERS),
    "spares:plan": (PLANNERS, PLANNERS),
    "spares:close_planned": (PLANNERS, PLANNERS),
    "reach:what_stops": (ALL, NOBODY),
    "findings:list": (ALL, NOBODY),
    "findings:check": (ALL, PLANNERS),
    "completeness:list": (ALL, NOBODY),
    "completeness:detail": (ALL, NOBODY),
    "findings:concede": (PLANNERS, PLANNERS),
    "rules:list": (ALL, NOBODY),
    "rules:detail": (ALL, NOBODY),
    "rules:set": (ADMINISTRATORS, ADMINISTRATORS),
    "rules:unset": (ADMINISTRATORS, ADMINISTRATORS),
    "history:list": (ALL, NOBODY),
    "history:detail": (ALL, NOBODY),
    "history:compare": (ALL, NOBODY),
    "history:on": (ALL, NOBODY),
    "indexes:index": (PLANNERS, PLANNERS),
    "indexes:discard": (PLANNERS, PLANNERS),
    "indexes:patterns": (PLANNERS, ADMINISTRATORS),
    "exchange:upload": (PLANNERS, PLANNERS),
    "drawings:list": (ALL, PLANNERS),
    "drawings:detail": (ALL, PLANNERS),
    "exchange:register": (ALL, NOBODY),
    "exchange:blank": (ALL, NOBODY),
    "exchange:list": (ALL, NOBODY),
    "exchange:run": (ALL, PLANNERS),
    "exchange:cancel": (PLANNERS, PLANNERS),
    "exchange:undo": (PLANNERS, PLANNERS),
}


def addresses(patterns: list, prefix: str = "", namespace: str = "") -> Iterator[tuple[str, str]]:
    """Name and route of every address below a list of patterns."""
    for one in patterns:
        route = prefix + str(one.pattern)
        if isinstance(one, URLResolver):
            below = f"{namespace}{one.namespace}:" if one.namespace else namespace
            yield from addresses(one.url_patterns, route, below)
        elif isinstance(one, URLPattern):
            yield f"{namespace}{one.name}", route


EVERY = dict(addresses(get_resolver().url_patterns))
OPEN = {"accounts:sign-in": ("GET", "POST"), "accounts:display": ("POST",), "offline:worker": ("GET",)} | {
    name: ("GET",) for name in EVERY if name.startswith("calculators:")
}
"""What nobody need be signed in for, and how it is asked for."""
OWN = {name: route for name, route in EVERY.items() if not name.startswith("admin:") and name not in OPEN}


@pytest.fixture
def plant(person) -> dict[str, dict[str, object]]:
    """What stands in the place of each part of an address, by the address' name; "" holds for all others."""
    planner = person("planner")
    factories.loop(sketch.temperature_loop("101"), by=planner)
    factories.loop(sketch.cascade(source_range="0-250 degC"), by=planner)
    rule = "remote-set-point-scaled-differently"
    set_rule(
        rule, area=factories.area("Works / Kiln 1"), off=True, tolerance=None, reason="x", by=person("administrator")
    )
    tag = Tag.objects.get(name="TIC-101")
    issue = draft_issue(tag.loop, by=planner)
    check_issue(issue, by=planner, exception="x")
    approve_issue(issue, by=planner, exception="x", render=lambda issue: b"%PDF")
    pack = asked_pack(planner)
    port = Port.objects.create(tag=tag, name="Spare", direction="in", purpose="measurement")
    alarm = Alarm.objects.get(tag=tag)
    link = Link.objects.get(source__tag=tag)
    usual = {
        "number": "T-101",
        "name": "TIC-101",
        "code": "A1012",
        "slug": rule,
        "revision": 1,
        "issue": 1,
        "bay": "2",
        "answer": "changes",
    }
    calibration = factories.calibration(tag, by=planner)
    controller = factories.catalogue_model()
    old = factories.models.CatalogueModel.objects.get(name="Probe pt100")
    correct_model(old, {"obsolete": True}, by=planner, reason="x")
    loops = many.LOOPS.rows([tag.loop_id])
    edited = many.change_many(
        many.LOOPS, "criticality", "safety", seen_revision=many.seen(loops), by=planner, reason="x"
    )
    proposed = propose(read_workbook(workbook()), name="plant.xlsx", kind="workbook", data=b"", by=planner)
    drawn = keep(drawings.PLANT, "C01.xml", by=planner)
    begun = begin(b"Tag;Range\nTIC-900;0-10 bar\n", name="index.csv", by=planner)
    ordered = plan_movement(
        controller,
        PlannedKind.ON_ORDER,
        reference="P-1",
        quantity=1,
        made_on=timezone.localdate(),
        expected_on=timezone.localdate(),
        by=planner,
    )
    return {
        "": usual | {"pk": controller.pk, "kind": "as-left"},
        "catalogue:port": {"port": controller.ports.first().pk},
        "catalogue:port_remove": {"port": controller.ports.first().pk},
        "catalogue:bay": {"bay": controller.bays.get(name="2").pk},
        "catalogue:bay_remove": {"bay": controller.bays.get(name="2").pk},
        "catalogue:family": {"pk": controller.bays.get(name="2").takes.first().pk},
        "tags:install": {"name": "TV-101"},
        "tags:port": {"pk": port.pk},
        "tags:port_remove": {"pk": port.pk},
        "tags:alarm": {"pk": alarm.pk},
        "tags:alarm_remove": {"pk": alarm.pk},
        "tags:link": {"pk": link.pk},
        "tags:link_remove": {"pk": link.pk},
        "tags:link_cores": {"pk": link.pk},
        "cables:detail": {"name": "C-1011"},
        "cables:edit": {"pk": Cable.objects.get(name="C-1011").pk},
        "swaps:step": {"step": "out"},
        "swaps:where_it_fits": {"pk": factories.catalogue_model(sketch.linear_board()).pk},
        "calibrations:detail": {"pk": calibration.pk},
        "calibrations:certificate": {"pk": calibration.pk},
        "completeness:detail": {"slug": "locations"},
        "findings:concede": {"pk": Finding.objects.get(rule=rule).pk},
        "offline:area": {"pk": Area.objects.first().pk},
        "packs:detail": {"pk": pack.pk},
        "packs:cancel": {"pk": pack.pk},
        "packs:delete_file": {"pk": pack.pk},
        "packs:download": {"pk": pack.pk},
        "obsolescence:detail": {"pk": old.pk},
        "exchange:run": {"pk": proposed.pk},
        "drawings:detail": {"pk": drawn.pk},
        "exchange:cancel": {"pk": proposed.pk},
        "exchange:undo": {"pk": proposed.pk},
        "indexes:index": {"pk": begun.pk},
        "indexes:discard": {"pk": begun.pk},
        "many:edit": {"kind": "loops"},
        "many:detail": {"pk": edited.pk},
        "many:undo": {"pk": edited.pk},
        "spares:close_planned": {"pk": ordered.pk},
        "rules:unset": {"pk": RuleSetting.objects.get().pk},
        "workbench:save": {"of": "loops"},
        "workbench:change": {"pk": save_view("loops", "kind=trip", name="Trips", shared=True, by=planner).pk},
    }


def asked_pack(by: User) -> Pack:
    """A pack that was asked for and is not made yet."""
    now = timezone.now()
    return Pack.objects.create(title="Sheets", moment=now, asked_at=now, paper="A4", address="http://x/", by=by)


def path_of(name: str, plant: dict[str, dict[str, object]]) -> str:
    known = plant[""] | plant.get(name, {})
    return "/" + re.sub(r"<\w+:(\w+)>", lambda part: str(known[part[1]]), EVERY[name])


def client_of(user: User | None) -> Client:
    client = Client(raise_request_exception=False)
    if user:
        client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return client


def test_the_table_names_every_address_and_no_other():
    assert sorted(OWN) == sorted(TABLE)


@pytest.mark.parametrize("name", OWN)
def test_a_page_is_open_to_those_in_the_table_alone(name, person, plant):
    if name not in TABLE:
        pytest.fail(f"{name} has no line in the table: say who may read it and who may send to it.")
    path = path_of(name, plant)
    reading, sending = TABLE[name]
    for role in UserRole:
        for method, who in (("get", reading), ("head", reading), ("post", sending)):
            status = getattr(client_of(person(role)), method)(path).status_code
            if who is NOBODY:
                assert status == 405, f"{method} {path} as {role}"
            elif role in who:
                assert status in (200, 302, 422), f"{method} {path} as {role}"
            else:
                assert status == 403, f"{method} {path} as {role}"


def test_no_other_method_gets_past_the_table(person, plant):
    """Django's own form pages take PUT for POST; nothing else takes anything."""
    clients = {role: client_of(person(role)) for role in UserRole}
    for name in OWN:
        path = path_of(name, plant)
        for method in ("put", "patch", "delete"):
            for role, client in clients.items():
                status = getattr(client, method)(path).status_code
                by_django = name.startswith("accounts:") and role in TABLE[name][1]
                assert status in (403, 405) or by_django, f"{method} {path} as {role}"


def test_whoever_is_not_signed_in_is_sent_to_sign_in(plant):
    for name in OWN:
        path = path_of(name, plant)
        for method in ("get", "head", "post", "put", "patch", "delete", "options"):
            response = getattr(client_of(None), method)(path)
            assert response.status_code == 302, f"{method} {path}"
            assert response.headers["Location"].startswith("/sign-in/?next="), f"{method} {path}"


@pytest.mark.parametrize("name", OPEN)
def test_signing_in_the_display_and_the_calculators_are_open_to_all(name, db):
    for method in OPEN[name]:
        response = client_of(None).generic(method, "/" + EVERY[name])
        assert response.status_code in (200, 302)
        assert not response.headers.get("Location", "").startswith("/sign-in/?next=")


@pytest.mark.parametrize("role", sorted(ALL - ADMINISTRATORS))
def test_the_administration_is_closed_to_all_but_administrators(role, person):
    for path in administration():
        response = client_of(person(role)).get(path)
        assert response.status_code in (302, 403, 404), path
        if response.status_code == 302:
            assert response.headers["Location"].startswith(("/admin/login/", "/sign-in/")), path


def test_an_administrator_opens_the_administration(person):
    assert client_of(person("administrator")).get("/admin/").status_code == 200


def administration() -> Iterator[str]:
    for name, route in EVERY.items():
        if name.startswith("admin:") and name not in ("admin:login", "admin:logout"):
            path = re.sub(r"<\w+:(\w+)>|\(\?P<\w+>([\w-]+)[^)]*\)|\(\?P<\w+>\.\*\)", lambda part: part[2] or "1", route)
            yield "/" + path.replace("^", "").rstrip("$")


def test_whoever_may_not_is_told_who_may(person, plant):
    page = client_of(person("auditor")).get(path_of("loops:edit", plant)).content.decode()
    assert "Your role may not edit loops, the catalogue and stock. These roles may: planner, administrator." in page


QUERIES = {
    "loops:list": "?peek=T-101",
    "tags:list": "?peek=TIC-101",
    "many:edit": "?all=1&change=criticality",
    "history:compare": "?old=1&new=1",
    "reach:what_stops": "?tag=TE-101",
    "search": "?q=1",
    "spares:kit": "?loops=T-101&days=365",
}
"""What an address needs so that its page has something to show."""


@pytest.mark.browser
@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_every_page_is_accessible_and_fits_its_screen(size, open_page, sign_in, plant):
    page = open_page(size)
    sign_in(page, "administrator")
    for name, (reading, _) in TABLE.items():
        if UserRole.ADMINISTRATOR in reading and not EVERY[name].endswith(
            (".pdf", ".svg", ".xlsx", ".csv", ".json", ".txt", "/download")
        ):
            page.goto(path_of(name, plant) + QUERIES.get(name, ""))
            assert_accessible(page)
            assert_fits(page)
            if size == DESK:
                assert_readable_in_every_theme(page)
                page.set_viewport_size(SMALL_DESK)
                assert_fits(page)
                page.set_viewport_size(DESK)
            else:
                assert_fits_at_twice_the_text(page)
