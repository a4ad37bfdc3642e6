"""Spares to hold, and the probability that a protection fails when it is asked for."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from register.calc import reliability
from register.calc.reliability import HOURS_PER_YEAR
from register.web.calculators.base import Answers, Calculator, Number, Table, Verdict, fixed, options, significant

WEEKS_PER_YEAR = 365.25 / 7


class SparesCalculator(Calculator):
    slug = "spares"
    title = _("Spares to hold")
    purpose = "The stock that meets the failures of a lead time, from a catalogue rate and the plant's own failures."
    source = "Poisson distribution; gamma–Poisson conjugacy, Gelman et al., Bayesian Data Analysis, 2.6"

    installed = Number("40", label=_("Installed, all alike"))
    rate_per_year = Number("0.02", "per year", label=_("Catalogue failure rate of one"))
    failures = Number("2", label=_("Failures seen here"))
    years = Number(
        "60", "years", label=_("Running time of all together"), help_text=_("20 of them for 3 years are 60.")
    )
    prior_years = Number(
        "20",
        "years",
        label=_("Weight of the catalogue"),
        help_text=_("As so many years of running time, all together."),
    )
    lead_weeks = Number("12", "weeks", label=_("Lead time"))
    level_percent = Number("95", "%", label=_("Wanted: no wait in"))

    def calculate(self, installed, rate_per_year, failures, years, prior_years, lead_weeks, level_percent) -> Answers:
        rate = reliability.updated_rate(rate_per_year, failures, years, prior_years=prior_years)
        mean = reliability.lead_time_demand(installed, 1 / rate.mean, lead_weeks / WEEKS_PER_YEAR)
        stock = reliability.stock_for_level(mean, level_percent / 100)
        return Answers(
            facts=[
                ("Hold", str(stock)),
                ("Enough in", fixed(reliability.poisson_at_most(mean, stock) * 100, 2, "%")),
                ("Failures within the lead time, on average", significant(mean, 4)),
                ("Failure rate of one", significant(rate.mean, 3, "per year")),
                ("With 90 % belief", f"{significant(rate.low, 3)} to {significant(rate.high, 3, 'per year')}"),
            ],
            tables=[
                Table(
                    "Stock and what it is worth",
                    ("In stock", "Enough in"),
                    [
                        (str(held), fixed(reliability.poisson_at_most(mean, held) * 100, 2, "%"))
                        for held in range(max(0, stock - 3), stock + 3)
                    ],
                )
            ],
        )


class SafetyCalculator(Calculator):
    slug = "pfd"
    title = _("Probability of failure on demand")
    purpose = "The average of a voted group, its SIL band and its share of a safety function."
    source = "IEC 61508-6 annex B, simplified; IEC 61508-1 for the bands"
    caution = (
        "An estimate for reading a design. Architecture and systematic capability limit the level too; the safety "
        "study and a competent person decide."
    )

    voting = forms.ChoiceField(initial="1oo1", choices=options(*reliability.VOTINGS))
    rate_per_h = Number("1.5e-6", "per h", label=_("Dangerous undetected failures of one"))
    months = Number("12", "months", label=_("Test interval"))
    beta_percent = Number("0", "%", label=_("Common causes (beta)"))
    rest = Number("0.002", label=_("PFD of the other parts"), help_text=_("Sensor and logic, if this is the valve."))
    target = forms.ChoiceField(initial="2", choices=options("1", "2", "3", "4"), label=_("Target SIL"))

    def calculate(self, voting, rate_per_h, months, beta_percent, rest, target) -> Answers:
        group = reliability.pfd_simplified(voting, rate_per_h, months * HOURS_PER_YEAR / 12, beta_percent / 100)
        whole = reliability.pfd_series(group, rest)
        band = reliability.sil_band(whole)
        facts = [
            ("This group", f"{significant(group, 3)}, {_band(reliability.sil_band(group))}"),
            ("The whole function", f"{significant(whole, 3)}, {_band(band)}"),
        ]
        if whole:
            facts.append(("Risk reduction", significant(reliability.risk_reduction(whole), 3)))
        return Answers(
            facts=facts,
            verdicts=[
                Verdict("success", f"Within the band of SIL {target}.")
                if band and band >= int(target)
                else Verdict("error", f"Not enough for SIL {target}: test more often, or change the design.")
            ],
        )


def _band(level: int | None) -> str:
    return f"SIL {level}" if level else "below SIL 1"
