from __future__ import annotations

from datetime import date, timedelta

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from register.models import Area

PERIOD = timedelta(days=30)


def _day() -> forms.DateInput:
    return forms.DateInput(attrs={"type": "date"})


class ScopeForm(forms.Form):
    """The day that is asked about, the period before it, and the part of the plant."""

    day = forms.DateField(label=_("At the end of"), widget=_day())
    since = forms.DateField(label=_("Changes since"), widget=_day())
    area = forms.ModelChoiceField(Area.objects.all(), required=False, empty_label=_("The whole plant"))

    @staticmethod
    def usual() -> dict[str, date]:
        today = timezone.localdate()
        return {"day": today, "since": today - PERIOD}

    def clean(self) -> dict:
        said = super().clean()
        if said.get("day") and said.get("since") and said["since"] > said["day"]:
            raise ValidationError(_("The period begins after the day. Give an earlier day under “Changes since”."))
        return said
