from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from register.models import SavedView, User
from register.services.permissions import May, may


class ViewForm(forms.ModelForm):
    class Meta:
        model = SavedView
        fields = ("name", "shared")
        labels = {"shared": _("Shared with everyone")}
        help_texts = {"name": _("What the list is for, in your words.")}

    def __init__(self, *args, person: User, **kwargs):
        super().__init__(*args, **kwargs)
        if not may(person, May.SHARE_VIEWS):
            del self.fields["shared"]

    def _post_clean(self) -> None:
        """The service checks the whole view, its owner too."""
