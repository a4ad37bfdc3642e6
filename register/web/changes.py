"""The one way in which a form changes a loop: show what it would do, save it, or say why not and lose nothing typed."""

from __future__ import annotations

from collections.abc import Callable

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext_lazy as _
from django_htmx.http import HttpResponseClientRefresh

from register.models import Loop
from register.services.recording import Refused, Stale
from register.services.what_if import Preview, what_if


class ChangeForm(forms.Form):
    """What every change says beside its own fields: why, by which work order, on which revision it was opened."""

    reason = forms.CharField(
        max_length=300, help_text=_("Why you change it. It stands in the loop's history for ever.")
    )
    work_order = forms.CharField(max_length=60, required=False, help_text=_("If there is one."))
    seen_revision = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if isinstance(field, forms.ChoiceField) and not isinstance(field, forms.ModelChoiceField):
                field.choices = [(value, label if value else "—") for value, label in field.choices]

    CHANGE_FIELDS = ("reason", "work_order", "seen_revision")

    groups: tuple[tuple[str, tuple[str, ...]], ...] = ()

    @property
    def grouped(self) -> list[tuple[str, list[forms.BoundField]]]:
        """The form's own fields under the headings of its groups."""
        return [(heading, [self[name] for name in names]) for heading, names in self.groups]

    @property
    def own_fields(self) -> list[forms.BoundField]:
        return [field for field in self.visible_fields() if field.name not in self.CHANGE_FIELDS]

    @property
    def history_fields(self) -> list[forms.BoundField]:
        return [field for field in self.visible_fields() if field.name in self.CHANGE_FIELDS]

    @property
    def facts(self) -> dict:
        """What was typed into the form's own fields."""
        return {name: fact for name, fact in self.cleaned_data.items() if name not in self.CHANGE_FIELDS}

    @property
    def signature(self) -> dict:
        """Reason and seen revision, as the services take them."""
        return {name: self.cleaned_data[name] for name in ("reason", "seen_revision")}


class ConfirmForm(ChangeForm):
    """A change without fields of its own: a removal."""


def change(
    request: HttpRequest,
    form: ChangeForm,
    write: Callable[[], object],
    *,
    loop: Loop | None,
    done: Callable[[], str],
    back: str,
    said: str,
    title: str,
    template: str = "loops/change.html",
    formset: forms.BaseFormSet | None = None,
    **context: object,
) -> HttpResponse:
    """Answer the form's request.

    ``write`` calls the service; ``done`` says where to go once ``said`` is
    true, ``back`` where to go instead.
    """
    preview: Preview | None = None
    stale: Stale | None = None
    typed_well = form.is_valid()
    if formset is not None:
        typed_well = formset.is_valid() and typed_well
    if request.method == "POST" and typed_well:
        try:
            if "preview" in request.POST:
                preview = what_if(write)
            else:
                write()
                messages.success(request, said)
                return HttpResponseClientRefresh() if request.htmx else redirect(done())  # it stood beside a diagram
        except Stale as caught:
            stale = caught
            form.data = form.data.copy()
            form.data[form.add_prefix("seen_revision")] = str(caught.now)
        except Refused as refusal:
            form.add_error(refusal.field if refusal.field in form.fields else None, str(refusal))
        except ValidationError as invalid:
            form.add_error(None, invalid if not hasattr(invalid, "error_dict") else _known(form, invalid))
    context |= {
        "form": form,
        "formset": formset,
        "loop": loop,
        "title": title,
        "preview": preview,
        "stale": stale,
        "back": back,
    }
    return render(request, template, context)


def _known(form: forms.Form, invalid: ValidationError) -> ValidationError:
    """The errors with those of fields that the form does not show moved to the form as a whole."""
    errors: dict[str, list] = {}
    for name, found in invalid.error_dict.items():
        errors.setdefault(name if name in form.fields else "__all__", []).extend(found)
    return ValidationError(errors)
