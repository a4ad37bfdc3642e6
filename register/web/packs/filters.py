from __future__ import annotations

import django_filters
from django import forms
from django.utils.translation import gettext_lazy as _

from register.models import Finding, Revision, Tag
from register.rules.engine import all_rules
from register.web.loops.filters import LoopFilter


class PackLoops(LoopFilter):
    """The loops of a pack: the filters of the loops' list, so that a list becomes a pack, and some of its own."""

    rule = django_filters.ChoiceFilter(
        choices=lambda: [(slug, slug) for slug in all_rules()],
        method="found_by",
        label=_("With an open finding of"),
        empty_label=_("Any rule or none"),
    )
    due_by = django_filters.DateFilter(
        method="due", label=_("Calibration due by"), widget=forms.DateInput(attrs={"type": "date"})
    )
    changed_since = django_filters.DateFilter(
        method="changed", label=_("Changed since"), widget=forms.DateInput(attrs={"type": "date"})
    )

    WORDS = {
        "q": "with “{}”",
        "area": "area {}",
        "kind": "kind {}",
        "criticality": "criticality {}",
        "severity": "worst open finding: {}",
        "rule": "with an open finding of {}",
        "due_by": "calibration due by {}",
        "changed_since": "changed since {}",
    }

    def found_by(self, queryset, name, rule):
        return queryset.filter(pk__in=Finding.objects.counted().filter(rule=rule).values("loop"))

    def due(self, queryset, name, day):
        return queryset.filter(pk__in=Tag.objects.due_by(day).values("loop"))

    def changed(self, queryset, name, day):
        return queryset.filter(pk__in=Revision.objects.filter(at__date__gte=day).values("loop"))

    @property
    def words(self) -> str:
        """What was chosen, for the title of the pack."""
        chosen = ((self.WORDS[name], self.form.cleaned_data.get(name)) for name in self.WORDS)
        return ", ".join(words.format(value) for words, value in chosen if value)
