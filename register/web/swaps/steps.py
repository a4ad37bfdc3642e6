"""A swap as far as its draft goes: which steps there are, what each says, and what is wrong so far."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from django import forms
from django.forms.models import model_to_dict
from django.utils import timezone

from register.calc.errors import CalculationError
from register.loading import load_loop, load_models
from register.models import Asset, Settings, SettingsKind, SwapDraft, Tag, User
from register.plant import values
from register.plant.cautions import Cautions, cautions_for
from register.plant.fitting import bays_for
from register.plant.keying import keying_order
from register.plant.tuning import as_taken_by
from register.services import fits
from register.services.recording import Refused
from register.services.replacement import objections, replace_asset
from register.web.swaps.forms import AsLeftForm, BoardsForm, InForm, OutForm

TITLES = {"out": "What came out", "in": "What goes in", "boards": "Boards", "settings": "Settings as left"}
REVIEW = "review"

_TUNING = ("proportional", "proportional_as", "integral", "derivative", "time_unit", "pid_form")


@dataclass(frozen=True)
class Keyed:
    """A setting as the tag requires it, and as the incoming model takes it."""

    name: str
    required: str
    taken: str


class Swap:
    """What the draft says, read step by step. A step that the incoming instrument does not need is left out."""

    def __init__(self, tag: Tag, draft: SwapDraft):
        self.tag, self.draft = tag, draft

    @cached_property
    def form(self) -> dict[str, forms.Form]:
        """The form of each step that can be asked already, bound to what was typed."""
        made: dict[str, forms.Form] = {"out": OutForm(self._typed("out")), "in": self._choice}
        incoming = self.incoming
        if incoming is None:
            return made
        if incoming.model.bays.exists():
            made["boards"] = BoardsForm(self._typed("boards"), **self._boards(incoming))
        if self.required is not None:
            facts = model_to_dict(self.required, exclude=["id", "tag", "kind"])
            facts |= {name: getattr(self.taken[0], name) for name in _TUNING}
            instance = Settings(tag=self.tag, kind=SettingsKind.AS_LEFT)
            made["settings"] = AsLeftForm(self._typed("settings"), instance=instance, initial=facts)
        return made

    def _typed(self, step: str) -> dict | None:
        return self.draft.typed.get(step)

    @property
    def steps(self) -> list[str]:
        return list(self.form)

    def after(self, step: str) -> str:
        """The step that follows."""
        later = self.steps[self.steps.index(step) + 1 :]
        return later[0] if later else REVIEW

    @cached_property
    def outgoing(self) -> Asset | None:
        installed = self.tag.installations.current().select_related("asset__model").first()
        return installed.asset if installed else None

    @cached_property
    def _choice(self) -> InForm:
        candidates = fits.what_fits(self.tag, today=timezone.localdate())
        return InForm(self._typed("in"), candidates=candidates, kind=self.tag.role)

    @cached_property
    def incoming(self) -> Asset | None:
        return self._choice.cleaned_data["asset"] if self._choice.is_valid() else None

    def _boards(self, incoming: Asset) -> dict:
        """What the boards' form asks about, with each board of the outgoing one where it goes best."""
        outgoing = self._fitted(self.outgoing)
        inside = self._fitted(incoming)
        catalogue = load_models({incoming.model_id, *(one.model_id for one in (*outgoing, *inside))})
        same = {(one.bay, one.model_id) for one in inside}
        missing = [
            values.FittedBoard(bay=one.bay, model=catalogue[one.model_id])
            for one in outgoing
            if (one.bay, one.model_id) not in same
        ]
        moves = bays_for(missing, catalogue[incoming.model_id], [one.bay for one in inside])
        return {"incoming": incoming, "outgoing": outgoing, "inside": inside, "moves": moves}

    def _fitted(self, controller: Asset | None) -> list:
        if controller is None or controller.pk is None:
            return []
        return list(controller.board_fittings.current().select_related("model", "board"))

    @cached_property
    def required(self) -> Settings | None:
        return self.tag.settings_rows.filter(kind=SettingsKind.REQUIRED).first()

    @cached_property
    def _loop(self) -> values.Loop:
        return load_loop(self.tag.loop.number)

    @property
    def cautions(self) -> Cautions:
        return cautions_for(self._loop, [self._loop.tag(self.tag.name)])

    @property
    def _settings(self) -> values.Settings:
        return self._loop.tag(self.tag.name).settings

    @cached_property
    def taken(self) -> tuple[values.Settings, str]:
        """The required settings as the incoming model takes them, or why they cannot be converted."""
        model = load_models([self.incoming.model_id])[self.incoming.model_id]
        try:
            return as_taken_by(self._settings, model), ""
        except CalculationError as reason:
            return self._settings, str(reason)

    @property
    def keyed(self) -> list[Keyed]:
        """The required settings beside what the incoming instrument takes, in keying order."""
        required = dict(keying_order(self._settings))
        taken = dict(keying_order(self.taken[0]))
        return [Keyed(name, required.get(name, ""), taken.get(name, "")) for name in {**required, **taken}]

    @property
    def filled(self) -> list[tuple[str, str]]:
        """Each bay and what is put in it, in words."""
        form = self.form.get("boards")
        if form is None or not form.is_valid():
            return []
        words = {bay.name: dict(form.fields[f"bay-{bay.name}"].choices) for bay in form.bays}
        return [(bay.name, words[bay.name][form[f"bay-{bay.name}"].data or ""]) for bay in form.bays]

    def known(self) -> dict:
        """What the steps say as far as it can be read, as the service takes it."""
        said: dict = {}
        for one in self.form.values():
            one.is_valid()
            said |= getattr(one, "cleaned_data", {})
        return said

    @cached_property
    def objections(self) -> list[Refused]:
        """Everything that is wrong with the swap as far as it goes."""
        said = self.known()
        names = ("on", "serial_out", "line", "moved_boards")
        return list(objections(self.tag, self.incoming, **{name: said[name] for name in names if name in said}))

    def complain(self, step: str) -> bool:
        """Put what is wrong to the fields of a step. Whether there is anything."""
        form = self.form[step]
        for objection in self.objections:
            if form.is_bound and objection.field in form.fields:
                form.add_error(objection.field, str(objection))
        return bool(form.errors)

    def step_of(self, field: str) -> str:
        """The step on which a field stands."""
        return next((step for step, form in self.form.items() if field in form.fields), "out")

    @property
    def unfinished(self) -> str | None:
        """The first step that was not filled in or is wrong by itself."""
        return next((step for step, form in self.form.items() if not form.is_valid()), None)

    def write(self, by: User):
        """Record it. Raises what the service raises."""
        said = self.known()
        facts = ("on", "reason", "condition", "serial_out", "work_order", "store_place", "line")
        settings = self.form.get("settings")
        return replace_asset(
            self.tag,
            said["asset"],
            by=by,
            seen_revision=self.draft.seen_revision,
            moved_boards=said.get("moved_boards", ()),
            as_left=settings.facts if settings else None,
            **{name: said[name] for name in facts},
        )
