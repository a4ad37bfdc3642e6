"""How each figure of a spare was worked out: the formula in the trade's notation, the numbers put in, the result."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _

from register.calc import spares
from register.services.spares import Holding, Spare

BELIEF = 90


@dataclass(frozen=True)
class Working:
    """One step; ``anchor`` is where the list's figures point to."""

    anchor: str
    title: str
    formula: str
    put_in: list[str]
    result: str
    source: str
    facts: list[tuple[str, str]]
    table: tuple[tuple[str, ...], list[tuple[str, ...]]] | None = None


def significant(value: float, digits: int = 3) -> str:
    """A number with so many digits that count, never as a power of ten."""
    if value == 0:
        return "0"
    text = f"{value:.{digits}g}"
    return f"{float(text):,.10f}".rstrip("0").rstrip(".") if "e" in text else text


def workings(holding: Holding, spare: Spare, currency: str) -> Iterator[Working]:
    """The steps for a model: its rate, then what its holding needs."""
    yield _rate(spare)
    if holding.missing:
        return
    yield _demand(holding)
    yield _need(holding)
    yield _position(holding, currency)
    if holding.places:
        yield _risk(holding)


def _rate(spare: Spare) -> Working:
    rate = spare.rate
    facts = [
        (_("Catalogue's failure rate λ₀, per year"), str(spare.row.failure_rate_per_year or "")),
        (
            _("Its weight T₀, years"),
            significant(spare.weight_years)
            + ("" if spare.row.failure_rate_weight_years else " " + _("(none stated: 10 is taken)")),
        ),
        (_("Failures here n"), str(spare.failures)),
        (_("Running time of all together T, years"), f"{spare.years:.1f}"),
    ]
    put_in, result = [], _("Cannot be told: the catalogue states no failure rate.")
    if rate is not None:
        prior, weight = float(spare.row.failure_rate_per_year), spare.weight_years
        put_in = [
            f"λ = ({significant(prior)} · {significant(weight)} + {spare.failures}) / "
            f"({significant(weight)} + {spare.years:.1f}) = {significant(rate.mean)}"
        ]
        result = _(
            "%(rate)s failures per year of one, with %(belief)d %% belief from %(low)s to %(high)s. "
            "That is %(million)s in 10⁶ h, or a mean time between failures of %(hours)s h."
        ) % {
            "rate": significant(rate.mean),
            "belief": BELIEF,
            "low": significant(rate.low),
            "high": significant(rate.high),
            "million": significant(spares.per_million_h(rate.mean)),
            "hours": f"{spares.mtbf_h(rate.mean):,.0f}".replace(",", "\N{NARROW NO-BREAK SPACE}"),
        }
    return Working(
        "rate",
        _("Failure rate"),
        "λ = (λ₀·T₀ + n) / (T₀ + T)",
        put_in,
        result,
        _(
            "The gamma distribution as prior of a Poisson rate: Gelman et al., Bayesian Data Analysis, 2.6. A failure "
            "is an item that came out faulty or beyond repair; a board runs while its controller stands at a tag."
        ),
        facts,
    )


def _demand(holding: Holding) -> Working:
    days = holding.spare.row.lead_time_days or 0
    put_in = [
        f"{served}: μ = {served.installed} · {significant(served.rate.mean)} · {days} / 365 = "
        f"{significant(holding.mean_of(served))}"
        for served in holding.served
        if served.installed
    ]
    facts = [(_("Lead time L of %(model)s, days") % {"model": holding.spare}, str(days))]
    for one in holding.others:
        own = str(max(0, one.position))
        facts.append((_("Own stock of %(model)s, which is used first") % {"model": one}, own))
    if len(put_in) > 1:
        put_in.append(f"Σμ = {significant(holding.mean)}")
    return Working(
        "demand",
        _("Failures within the lead time"),
        "μ = N · λ · L",
        put_in,
        _("%(mean)s failures on the average while an order is on its way.") % {"mean": significant(holding.mean)},
        _("Constant failure rate, IEC 60050-192."),
        facts,
    )


def _need(holding: Holding) -> Working:
    stocks = range(holding.by_level + 3)
    rows = [(str(one), f"{100 * (1 - spares.chance_of_more(holding.demand, one)):.3f}") for one in stocks]
    level = f"{100 * holding.level:g}"
    facts = [
        (_("Most critical place"), holding.criticality or _("none: nothing is installed")),
        (_("Service level asked for there, %"), level),
        (_("Minimum set by hand"), str(holding.minimum)),
    ]
    return Working(
        "need",
        _("Stock needed"),
        _("s = smallest stock with P(D ≤ s) ≥ p, and no less than the minimum"),
        [
            _("P(D ≤ %(stock)d) ≥ %(level)s %%, so s = %(stock)d") % {"stock": holding.by_level, "level": level},
            f"max({holding.by_level}, {holding.minimum}) = {holding.needed}",
        ],
        _("%(needed)d must be in store or on order.") % {"needed": holding.needed},
        _("Poisson distribution of the failures within the lead time; service levels stand in the plant's settings."),
        facts,
        ((_("Stock s"), _("P(D ≤ s), %")), rows),
    )


def _position(holding: Holding, currency: str) -> Working:
    spare, price = holding.spare, holding.spare.row.price
    put_in = [
        f"{spare.in_store} + {spare.on_order} − {spare.reserved} = {spare.position}",
        _("needed − position = %(needed)d − %(position)d = %(over)d")
        % {"needed": holding.needed, "position": spare.position, "over": holding.needed - spare.position},
    ]
    if holding.short:
        cost = "?" if holding.cost is None else f"{holding.cost:f} {currency}".strip()
        put_in.append(f"{holding.short} · {price if price is not None else '?'} = {cost}")
    said = _("As many as needed.")
    if holding.short:
        said = _("%(count)d short.") % {"count": holding.short}
    elif holding.surplus:
        said = _("%(count)d more than needed.") % {"count": holding.surplus}
    return Working(
        "position",
        _("Short or surplus"),
        _("position = in store + on order − reserved"),
        put_in,
        said,
        _("Inventory position, common practice of stock control."),
        [(_("Price"), "" if price is None else f"{price:f} {currency}".strip())],
    )


def _risk(holding: Holding) -> Working:
    position, waiting = holding.spare.position, spares.mean_waiting(holding.demand, holding.spare.position)
    return Working(
        "risk",
        _("Risk of running out"),
        "P(D > position)",
        [f"P(D > {position}) = {100 * holding.risk:.4g} %"],
        _(
            "Of a hundred lead times, %(risk)s see a failure that finds no spare. On the average %(waiting)s places "
            "wait for one; a wait counts %(weight)s times against a spare held."
        )
        % {
            "risk": significant(100 * holding.risk),
            "waiting": significant(waiting),
            "weight": significant(holding.weight),
        },
        _(
            "All that is on order now arrives within a lead time, so the position less the failures until then is "
            "what is left: Hadley and Whitin, Analysis of Inventory Systems, 1963. What a wait counts: p/(1−p) of the "
            "service level p, the critical ratio of the single-period stock model, on the average of the places."
        ),
        [],
    )
