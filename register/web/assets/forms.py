from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from register.models import Asset
from register.web.changes import ChangeForm


class AssetForm(ChangeForm, forms.ModelForm):
    """An asset belongs to no one loop, so there is no revision to be behind of."""

    seen_revision = None
    work_order = None

    class Meta:
        model = Asset
        fields = ("code", "serial", "model", "state", "store_place", "remarks")
        widgets = {"remarks": forms.Textarea(attrs={"rows": 3})}
        help_texts = {
            "code": _("The plant's own number for this one item."),
            "serial": _("As on its plate."),
            "state": _("What is installed or fitted is in service; that is recorded at its tag."),
        }
