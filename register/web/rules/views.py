"""Every rule as its own code states it, its findings, and how the plant has set it."""

from __future__ import annotations

from collections import defaultdict

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from register.models import Finding, RuleSetting
from register.rules.engine import Rule, Verdict, all_rules
from register.services.permissions import May
from register.services.rule_settings import set_rule, unset_rule
from register.web.parts.diagrams import diagram
from register.web.parts.lists import answer_list
from register.web.permissions import permitted
from register.web.rules.forms import RuleFilterForm, RuleSettingForm
from register.web.rules.tables import RuleRow, RuleTable


def rule_or_404(slug: str) -> Rule:
    try:
        return all_rules()[slug]
    except KeyError:
        raise Http404(f"There is no rule {slug}.") from None


def in_words(setting: RuleSetting, rule: Rule) -> str:
    """What a setting does, and where."""
    where = setting.area.path if setting.area else "the whole plant"
    if setting.off:
        return f"off in {where}"
    unit = rule.tolerance.unit if rule.tolerance else ""
    return f"tolerance {setting.tolerance:f} {unit} in {where}"


@permitted(May.READ)
def listing(request: HttpRequest) -> HttpResponse:
    counts = Finding.objects.count_by_rule()
    set_as = defaultdict(list)
    for setting in RuleSetting.objects.in_force().select_related("area"):
        if setting.rule in all_rules():
            set_as[setting.rule].append(in_words(setting, all_rules()[setting.rule]))
    rows = [RuleRow(rule, **counts.get(slug, {}), set_as="; ".join(set_as[slug])) for slug, rule in all_rules().items()]
    form = RuleFilterForm(request.GET)
    form.is_valid()
    table = RuleTable([row for row in rows if _shows(form.cleaned_data, row)])
    context = {"filter": {"form": form}}
    whole = len(all_rules())  # on one page, to be read as one
    return answer_list(request, "rules/list.html", table, name="rules", context=context, per_page=whole)


def _shows(chosen: dict, row: RuleRow) -> bool:
    has_hits = "yes" if row.open else "no"
    return all(
        not chosen.get(name) or chosen[name] == fact
        for name, fact in (("theme", row.rule.theme), ("severity", row.rule.severity), ("hits", has_hits))
    )


@permitted(May.READ)
def detail(request: HttpRequest, slug: str) -> HttpResponse:
    """One rule: what it checks, why, what to do, on which authority, and an example of each outcome."""
    rule = rule_or_404(slug)
    counts = RuleRow(rule, **Finding.objects.count_by_rule().get(slug, {}))
    settings = RuleSetting.objects.filter(rule=slug).select_related("area", "by", "ended_by")
    verdicts = [Verdict(slug, rule.severity, finding) for finding in rule.findings(rule.wrong)]
    context = {
        "rule": rule,
        "counts": counts,
        "settings": [(one, in_words(one, rule)) for one in settings.in_force().order_by("area__path")],
        "past_settings": [(one, in_words(one, rule)) for one in settings.past()],
        "verdicts": verdicts,
        "wrong": diagram(rule.wrong, verdicts, linked=False),
        "right": diagram(rule.right, linked=False),
    }
    return render(request, "rules/detail.html", context)


def _standing(slug: str, area: str) -> RuleSetting | None:
    """The setting of a rule for an area, by the area's key as text; "" is the whole plant."""
    settings = RuleSetting.objects.in_force().filter(rule=slug).select_related("area")
    return settings.filter(area=area).first() if area.isdecimal() else settings.filter(area__isnull=True).first()


@permitted(May.ADMINISTER)
def set_for(request: HttpRequest, slug: str) -> HttpResponse:
    """Give a rule the plant's own tolerance, or switch it off, with a reason."""
    rule = rule_or_404(slug)
    standing = _standing(slug, request.GET["area"]) if "area" in request.GET else None
    form = RuleSettingForm(request.POST or None, rule=rule, initial=RuleSettingForm.of(standing) if standing else None)
    if form.is_valid():
        facts = {"tolerance": None} | form.cleaned_data
        set_rule(slug, by=request.user, **facts)
        messages.success(
            request, _("%(slug)s is set, and the loops that it holds for were checked again.") % {"slug": slug}
        )
        return redirect("rules:detail", slug)
    context = {"rule": rule, "form": form}
    return render(request, "rules/set.html", context)


@permitted(May.ADMINISTER)
def unset(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Give a rule back its own tolerance and put it in force, where a setting of the plant stood."""
    rule = rule_or_404(slug)
    setting = get_object_or_404(RuleSetting.objects.in_force().select_related("area"), rule=slug, pk=pk)
    if request.method == "POST":
        unset_rule(slug, area=setting.area, by=request.user)
        messages.success(
            request, _("%(slug)s is in force as written again, and its loops were checked.") % {"slug": slug}
        )
        return redirect("rules:detail", slug)
    context = {"rule": rule, "setting": setting, "words": in_words(setting, rule)}
    return render(request, "rules/unset.html", context)
