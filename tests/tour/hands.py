"""A person at the screen who fills in the register's forms, each under the address that its page's links lead to."""

from __future__ import annotations

from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Locator, Page

from register.loading import load_loop
from register.models import Alarm, Asset, Cable, CatalogueModel, Core, Installation, Link, Port, Settings, Tag
from register.plant.check_points import check_of
from register.services.calibrating import field_of, ways_of


class Hands:
    """Every method does one thing at one place, saves it, and fails where the page shows a fault."""

    def __init__(self, page: Page):
        self.page, self.forms, self.serial = page, 0, 0

    # Filling in

    def _set(self, name: str, value: object) -> None:
        field = self.page.locator(f"main form [name='{name}']")
        kind = field.first.get_attribute("type")
        if kind == "radio":
            self.page.locator(f"main form [name='{name}'][value='{value}']").check()
        elif kind == "checkbox":
            field.set_checked(bool(value))
        elif field.evaluate("one => one.tagName") == "SELECT":
            _choose(field, str(value))
        else:
            field.fill(str(value))

    def fill(self, address: str, /, *args: object, **facts: object) -> None:
        """Open the form at a named address, fill some fields in and save."""
        self._open(address, *args)
        for name, value in facts.items():
            self._set(name, value)
        reason = self.page.locator("main form [name='reason']")
        if not reason.input_value():
            reason.fill("Remedy of a finding")
        self._send("Save")

    def _open(self, name: str, *args: object) -> None:
        address = reverse(name, args=args)
        assert self.page.goto(address).status == 200, address

    def _send(self, button: str) -> None:
        before = self.page.url
        self.page.get_by_role("main").get_by_role("button", name=button, exact=True).click()
        self.page.wait_for_load_state()
        faults = self.page.locator("main [role=alert]").all_inner_texts()
        assert faults == [], before
        assert self.page.url != before, "the form came back"
        self.forms += 1

    # What stands at a tag

    def tag(self, name: str, /, **facts: object) -> None:
        self.fill("tags:edit", name, **facts)

    def settings(self, tag: str, /, **facts: object) -> None:
        """Required and as left, where both are recorded."""
        for kind in Settings.objects.filter(tag__name=tag).values_list("kind", flat=True):
            self.fill("tags:settings", tag, kind.replace(" ", "-"), **facts)

    def port(self, tag: str, port: str, /, **facts: object) -> None:
        self.fill("tags:port", tag, Port.objects.get(tag__name=tag, name=port).pk, **facts)

    def new_port(self, tag: str, /, **facts: object) -> None:
        self.fill("tags:port_create", tag, **facts)

    def alarm(self, tag: str, alarm: str, /, **facts: object) -> None:
        self.fill("tags:alarm", tag, Alarm.objects.get(tag__name=tag, name=alarm).pk, **facts)

    def _link(self, tag: str, port: str, source: str = "") -> Link:
        sources = {"source__tag__name": source} if source else {}
        return Link.objects.get(target__tag__name=tag, target__name=port, **sources)

    def link(self, tag: str, port: str, /, **facts: object) -> None:
        self.fill("tags:link", tag, self._link(tag, port).pk, **facts)

    def new_link(self, source: str, source_port: str, target: str, target_port: str) -> None:
        ends = {"source": (source, source_port), "target": (target, target_port)}
        ports = {end: Port.objects.get(tag__name=tag, name=port).pk for end, (tag, port) in ends.items()}
        self.fill("tags:link_create", target, **ports)

    def unlink(self, tag: str, port: str) -> None:
        self.fill("tags:link_remove", tag, self._link(tag, port).pk)

    def core(self, tag: str, port: str, cable: str, core: str, /, **facts: object) -> None:
        """Correct one conductor of the link into a port."""
        link = self._link(tag, port)
        rows = list(Core.objects.filter(link=link).order_by("sequence", "pk"))
        place = next(n for n, row in enumerate(rows) if (row.cable.name, row.core) == (cable, core))
        self.fill("tags:link_cores", tag, link.pk, **{f"cores-{place}-{name}": fact for name, fact in facts.items()})

    def new_core(self, tag: str, port: str, /, **facts: object) -> None:
        """Record a further conductor of the link into a port."""
        link = self._link(tag, port)
        place = Core.objects.filter(link=link).count()
        self.fill("tags:link_cores", tag, link.pk, **{f"cores-{place}-{name}": fact for name, fact in facts.items()})

    # Work at the panel

    def board_out(self, tag: str, bay: str) -> None:
        self.fill("tags:remove_board", tag, bay, condition="working", store_place="Instrument store, drawer 12")

    def board_in(self, tag: str, bay: str, model: str) -> None:
        self.fill("tags:fit_board", tag, bay, model=_model(model))

    def new_asset(self, model: str) -> Asset:
        """An item that was bought for the purpose."""
        self.serial += 1
        code = f"LM-09{self.serial:02}"
        self.fill("assets:create", code=code, serial=f"NEW-{self.serial:02}", model=_model(model), state="in store")
        return Asset.objects.get(code=code)

    def install(self, tag: str, model: str) -> None:
        self.fill("tags:install", tag, asset=self.new_asset(model).pk)

    def swap(self, tag: str, model: str, *, bays: dict[str, str] | None = None, **as_left: object) -> None:
        """Put an item of another model in, from the box; the place then calls for that model."""
        out = Installation.objects.current().get(tag__name=tag).asset
        new = self.new_asset(model)
        self._open("swaps:replace", tag)
        for name, value in (("serial_out", out.serial), ("condition", "working"), ("reason", "Remedy of a finding")):
            self._set(name, value)
        self._send("Next")
        self._set("incoming", "other")
        self._set("serial", new.code)
        self._send("Next")
        if bays is not None:
            for bay, board in bays.items():
                self._set(f"bay-{bay}", board)
            self._send("Next")
        if self.page.url.endswith("/settings/"):
            for name, value in as_left.items():
                self._set(name, value)
            self._send("Next")
        self._send("Save the swap")
        self.tag(tag, specified=_model(model))

    def calibrate(self, tag: str, *, tolerance: str, uncertainty: str) -> None:
        """Five points both ways, each found as it should be, so that nothing was adjusted."""
        loop = load_loop(Tag.objects.get(name=tag).loop.number)
        check = check_of(loop, loop.tag(tag))
        self._open("calibrations:record", tag)
        facts = {"by_whom": "Calibration van", "standard": "Loop calibrator LC-02", "reason": "Remedy of a finding"}
        facts |= {"tolerance_percent": tolerance, "standard_uncertainty_percent": uncertainty}
        for way, percent in ways_of(check):
            facts[field_of("as_found", way, percent)] = check.expected.shown(percent)
        for name, value in facts.items():
            self._set(name, value)
        self._send("Save")

    # Beside the loops

    def cable(self, name: str, /, **facts: object) -> None:
        self.fill("cables:edit", Cable.objects.get(name=name).pk, **facts)

    def loop(self, number: str, /, **facts: object) -> None:
        self.fill("loops:edit", number, **facts)

    def asset(self, code: str, /, **facts: object) -> None:
        self.fill("assets:edit", code, **facts)


def _model(name: str) -> int:
    """The catalogue's demo has no two models of one name."""
    return CatalogueModel.objects.get(name=name).pk


def _choose(field: Locator, wanted: str) -> None:
    """By the value, else by the words, or by the one option that contains them."""
    options = field.locator("option").evaluate_all("all => all.map(one => [one.value, one.text])")
    matching = [value for value, _ in options if value == wanted] or [
        value for value, words in options if wanted in words
    ]
    assert len(matching) == 1, f"{wanted} among {options}"
    field.select_option(value=matching[0])


def today() -> str:
    return timezone.localdate().isoformat()
