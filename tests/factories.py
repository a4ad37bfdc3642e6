"""Writes loops of `register.plant.sketch` into the tables, for tests of whatever looks at a plant."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal

import msgspec

from register import models
from register.loading import load_loop
from register.models import SettingsKind
from register.plant import sketch, values
from register.plant.check_points import check_of
from register.plant.words import AssetState, Criticality
from register.services import calibrating, recording

INSTALLED_ON = date(2024, 3, 4)
RECORDED_AT = datetime(2024, 3, 5, 9, 30, tzinfo=UTC)


def columns(value: msgspec.Struct, table: type) -> dict:
    """The fields of a value that are plain columns of a table, as the table holds them."""
    names = {field.name for field in table._meta.concrete_fields if not field.is_relation}
    facts = {name: getattr(value, name) for name in value.__struct_fields__ if name in names}
    facts = {name: ",".join(fact) if isinstance(fact, tuple) else fact for name, fact in facts.items()}
    return {name: fact for name, fact in facts.items() if fact is not None}


def range_columns(prefix: str, span: values.Range | None) -> dict:
    if span is None:
        return {}
    return {f"{prefix}_{part}": getattr(span, part) for part in ("low", "high", "unit", "reference")}


def area(path: str = "Works / Boiler house") -> models.Area:
    """The area at a path, with those above it."""
    parent = area(path.rpartition(" / ")[0]) if " / " in path else None
    defaults = {"code": path.replace(" / ", "-")[-20:], "name": path.rpartition(" / ")[2], "parent": parent}
    return models.Area.objects.get_or_create(path=path, defaults=defaults)[0]


def catalogue_model(model: values.Model | None = None, **facts) -> models.CatalogueModel:
    """The catalogue's row of a model, with its ports, signals and bays; made when first asked for."""
    model = model or sketch.controller_model()
    if row := models.CatalogueModel.objects.filter(maker=model.maker, name=model.name).first():
        return row
    family = models.BoardFamily.objects.get_or_create(name=model.family)[0] if model.family else None
    certified = columns(model.ex, models.CatalogueModel) if model.ex else {}
    row = models.CatalogueModel.objects.create(
        family=family,
        **columns(msgspec.structs.replace(model, family=""), models.CatalogueModel),
        **range_columns("limits", model.range_limits),
        **certified,
        **facts,
    )
    for port in model.ports:
        port_row = models.ModelPort.objects.create(model=row, **columns(port, models.ModelPort))
        for signal in port.signals:
            limits = range_columns("limits", signal.limits)
            models.ModelSignal.objects.create(port=port_row, signal=signal.signal, **limits)
    for bay in model.bays:
        bay_row = models.Bay.objects.create(model=row, name=bay.name)
        bay_row.takes.set([models.BoardFamily.objects.get_or_create(name=name)[0] for name in bay.takes])
    return row


def asset(
    code: str, model: values.Model | None = None, *, state: AssetState = AssetState.IN_STORE, **facts
) -> models.Asset:
    """A thing that is not in service: serial "S" and its code, unless given."""
    facts = {"serial": f"S{code}", "store_place": "Main store A1" if state == AssetState.IN_STORE else ""} | facts
    return models.Asset.objects.create(code=code, model=catalogue_model(model), state=state, **facts)


def stock_line(model: values.Model, quantity: int, minimum: int = 0, place: str = "Main store B2") -> models.StockLine:
    return models.StockLine.objects.create(
        model=catalogue_model(model), store_place=place, quantity=quantity, minimum=minimum
    )


def install(asset: models.Asset, tag: models.Tag, since: date = INSTALLED_ON) -> models.Installation:
    asset.state, asset.store_place = AssetState.IN_SERVICE, ""
    asset.save()
    return models.Installation.objects.create(asset=asset, tag=tag, from_date=since, reason_in="Commissioned")


def fit(board: values.FittedBoard, controller: models.Asset, since: date = INSTALLED_ON) -> models.BoardFitting:
    """A board in its bay; an asset of its own if it has a serial number."""
    model = catalogue_model(board.model)
    item = None
    if board.serial:
        item = asset(f"B{board.serial}", board.model, state=AssetState.IN_SERVICE, serial=board.serial)
    return models.BoardFitting.objects.create(
        controller=controller, bay=board.bay, model=model, board=item, from_date=since
    )


def loop(
    value: values.Loop | None = None, *, by: models.User | None = None, at: datetime = RECORDED_AT, **facts
) -> models.Loop:
    """A loop as the tables hold it, with all that its value names, its neighbours' loops too.

    Without a value, the sketch's heating loop. ``facts`` replace facts of the value. With ``by`` it is recorded: its
    first revision is made and the rules are run.
    """
    value = msgspec.structs.replace(value or sketch.temperature_loop(), **facts)
    row = _place(value.number, columns(value, models.Loop) | _safety(value), value.area)
    for tag in value.tags:
        _tag(tag, row)
    for tag in value.neighbours:
        if not models.Tag.objects.filter(name=tag.name).exists():
            _tag(tag, _place(tag.loop, {"service": f"Neighbour of {value.number}"}, value.area))
    for link in value.links:
        _link(link)
    if by is not None:
        recording.record([row.pk], by=by, reason="Taken over from the drawings", at=at)
        row.refresh_from_db()
    return row


def many_loops(count: int, *, by: models.User | None = None, first: int = 1) -> list[models.Loop]:
    """Heating loops by turns with pressure loops, over three areas and all criticalities."""
    areas = ("Works / Boiler house", "Works / Kiln 1", "Works / Effluent")
    criticalities = tuple(Criticality)
    made = []
    for place in range(count):
        build = (sketch.temperature_loop, sketch.pressure_loop)[place % 2]
        value = build(str(100 + first + place))
        made.append(loop(value, by=by, area=areas[place % 3], criticality=criticalities[place % 4]))
    return made


def _safety(value: values.Loop) -> dict:
    return columns(value.safety, models.Loop) if value.safety else {}


def _place(number: str, facts: dict, path: str) -> models.Loop:
    facts.pop("number", None)
    return models.Loop.objects.get_or_create(number=number, defaults={**facts, "area": area(path or "Works")})[0]


def _tag(value: values.Tag, row: models.Loop) -> models.Tag:
    specified = catalogue_model(value.specified) if value.specified else None
    tag = models.Tag.objects.create(loop=row, specified=specified, **columns(value, models.Tag))
    for port in value.ports:
        models.Port.objects.create(tag=tag, **columns(port, models.Port), **range_columns("range", port.range))
    for alarm in value.alarms:
        output = tag.ports.filter(name=alarm.output).first()
        facts = columns(alarm, models.Alarm)
        facts.pop("output", None)
        models.Alarm.objects.create(tag=tag, output=output, **facts)
    for kind, settings in ((SettingsKind.REQUIRED, value.settings), (SettingsKind.AS_LEFT, value.as_left)):
        if settings:
            line = settings.serial
            serial = {f"serial_{name}": getattr(line, name) for name in line.__struct_fields__} if line else {}
            facts = {name: fact for name, fact in serial.items() if fact is not None}
            facts |= columns(settings, models.Settings) | range_columns("range", settings.range)
            models.Settings.objects.create(tag=tag, kind=kind, **facts)
    if value.calibration:
        facts = columns(value.calibration, models.Calibration) | range_columns("range", value.calibration.range)
        models.Calibration.objects.create(tag=tag, **facts)
    if value.asset:
        item = asset(value.asset.code, value.asset.model, serial=value.asset.serial)
        since = value.asset.installed_on or INSTALLED_ON
        install(item, tag, since)
        for board in value.asset.boards:
            fit(board, item, since)
    return tag


def _link(value: values.Link) -> models.Link:
    def port(tag: str, name: str) -> models.Port:
        return models.Port.objects.get(tag__name=tag, name=name)

    link = models.Link.objects.create(
        source=port(value.source_tag, value.source_port),
        target=port(value.target_tag, value.target_port),
        **columns(value, models.Link),
    )
    for sequence, core in enumerate(value.cores):
        cable, _ = models.Cable.objects.get_or_create(name=core.cable.name, defaults=columns(core.cable, models.Cable))
        facts = columns(core, models.Core)
        facts.pop("cable", None)
        models.Core.objects.create(link=link, sequence=sequence, cable=cable, **facts)
    return link


def calibration(tag: models.Tag, *, by: models.User, on: date = date(2024, 6, 3)) -> models.Calibration:
    """A calibration of a tag, recorded with every reading right."""
    tag = models.Tag.objects.select_related("loop").get(pk=tag.pk)
    loop = load_loop(tag.loop.number, today=on)
    check = check_of(loop, loop.tag(tag.name))
    points = [
        calibrating.Reading(percent, way, check.expected.shown(percent)) for way, percent in calibrating.ways_of(check)
    ]
    return calibrating.record_calibration(
        tag,
        on=on,
        by_whom="J. Hartwell",
        standard="Loop calibrator LC-02",
        certificate="CR-24-001",
        tolerance_percent=Decimal("0.25"),
        standard_uncertainty_percent=Decimal("0.05"),
        points=points,
        by=by,
        seen_revision=tag.loop.revision,
        reason="Yearly calibration",
    )
