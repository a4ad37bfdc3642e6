from __future__ import annotations

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from register.exchange.dexpi.drawing import Drawing
from register.models import Area


class DrawingFileForm(forms.Form):
    drawing = forms.FileField(
        label=gettext_lazy("Drawing"),
        allow_empty_file=True,  # the reader says what is wrong with an empty file, as with every other
        help_text=gettext_lazy("A P&ID as Proteus XML (DEXPI 1.2 or 1.3), one drawing a file."),
        widget=forms.ClearableFileInput(attrs={"accept": ".xml,application/xml,text/xml"}),
    )


class TakeForm(forms.Form):
    """What of a drawing is brought in: which contradicting facts, and where its new loops belong."""

    area = forms.ModelChoiceField(
        Area.objects.all(), required=False, label=gettext_lazy("Area of the new loops"), to_field_name="code"
    )

    def __init__(self, data, drawing: Drawing, keys: list[str], *, has_new_loops: bool):
        super().__init__(data)
        self.fields["take"] = forms.MultipleChoiceField(
            choices=[(key, key) for key in keys],
            required=False,
            widget=forms.MultipleHiddenInput,
            error_messages={"invalid_choice": _("The register has changed meanwhile. Look at the drawing again.")},
        )
        if not has_new_loops:
            del self.fields["area"]
        elif drawing.area_code:
            section = f"{drawing.area_code} {drawing.area_name}".strip()
            self.fields["area"].empty_label = _("as on the drawing: %(section)s") % {"section": section}
        else:
            self.fields["area"].required = True

    @property
    def area_code(self) -> str:
        area = self.cleaned_data.get("area")
        return area.code if area else ""
