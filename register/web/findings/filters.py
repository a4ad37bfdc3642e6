from __future__ import annotations

import django_filters
from django.utils.translation import gettext_lazy as _

from register.models import Area, Finding
from register.plant.words import Severity
from register.rules.engine import all_rules
from register.web.loops.filters import choices

STANDING = [
    ("open", "open"),
    ("conceded", "set aside by a concession"),
    ("unknown", "cannot tell"),
    ("cleared", "cleared"),
]


class FindingFilter(django_filters.FilterSet):
    severity = django_filters.ChoiceFilter(
        choices=choices(Severity), label=_("Severity"), empty_label=_("Any severity")
    )
    rule = django_filters.ChoiceFilter(
        choices=lambda: [(slug, slug) for slug in all_rules()], label=_("Rule"), empty_label=_("All rules")
    )
    area = django_filters.ModelChoiceFilter(
        queryset=Area.objects.all(), method="in_area", label=_("Area"), empty_label=_("All areas")
    )
    older_than = django_filters.NumberFilter(method="seen_before", label=_("Older than (days)"), min_value=0)
    standing = django_filters.ChoiceFilter(
        choices=STANDING, method="that_stand", label=_("Standing"), empty_label="open"
    )

    class Meta:
        model = Finding
        fields = ("severity", "rule", "area", "older_than", "standing")

    def in_area(self, queryset, name, area):
        return queryset.filter(loop__area__in=Area.objects.within(area))

    def seen_before(self, queryset, name, days):
        return queryset.older_than(int(days))

    def that_stand(self, queryset, name, standing):
        return queryset.standing(standing)

    def filter_queryset(self, queryset):
        narrowed = super().filter_queryset(queryset)
        return narrowed if self.form.cleaned_data.get("standing") else narrowed.standing("open")
