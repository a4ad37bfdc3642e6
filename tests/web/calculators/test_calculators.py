"""The public calculators: what they answer, to whom, and that no input breaks them."""

from __future__ import annotations

import re

import pytest
from django import forms
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st
from playwright.sync_api import Page, expect

from register.web.calculators.forms import CALCULATORS, SensorCalculator
from tests.browser import DESK, PHONE, assert_accessible, assert_fits

BY_SLUG = {one.slug: one for one in CALCULATORS}


def address(calculator) -> str:
    return reverse("calculators:home" if calculator is SensorCalculator else f"calculators:{calculator.slug}")


ADDRESSES = [*map(address, CALCULATORS), "/calculators/reference/"]


@pytest.mark.parametrize(
    ("slug", "query", "fact", "value"),
    [
        # NIST Monograph 175: type K gives 4.096 mV at 100 °C, and 3.298 mV (4.096 − 0.798) from terminals at 20 °C
        ("sensor", {"value": "100"}, "Between terminals at 20 °C", "3.298 mV"),
        ("sensor", {"value": "4.096", "known": "mV", "reference_c": "0"}, "Temperature", "99.99 °C = 211.99 °F"),
        # IEC 60751: 138.51 Ω at 100 °C
        ("sensor", {"value": "138,51", "known": "ohm", "sensor": "pt100"}, "Temperature", "100.01 °C = 212.02 °F"),
        ("sensor", {"value": "12", "known": "mA", "high_c": "200"}, "Temperature", "100.00 °C = 212.00 °F"),
        # 4–20 mA: 10.4 mA is 40 %
        ("signal", {"value": "10.4", "known": "signal", "high": "100"}, "Value", "40"),
        # the root of a quarter is a half: 12 mA
        ("signal", {"value": "25", "high": "100", "square_root": "on"}, "4–20 mA", "12.000 mA"),
        ("signal", {"value": "12", "known": "signal", "high": "100", "square_root": "on"}, "Value", "25"),
        # 0–400 read as 0–500: 200 shows 250 (arithmetic of scaling)
        ("two-ends", {}, "The reader shows", "250"),
        # NIST SP 811: 1 bar is 14.503774 psi, checked in the table below; 0 bar gauge is 1.01325 bar absolute
        ("units", {"value": "0"}, "Absolute, if this is gauge", "1.01325 bar"),
        # Ohm's law: 24 V − 22.5 mA × (600 + 72) Ω, 1 km of 0.5 mm² at 20 °C
        (
            "two-wire-loop",
            {"burden_ohm": "600", "conductor": "iec-2-0.5", "length_m": "1000", "cable_c": "20"},
            "Left at 22.5 mA",
            "8.88 V",
        ),
        # IEC 60751 and IEC 60228: 20 m of 0.5 mm² to a Pt100 at 100 °C, +3.80 K
        ("leads", {}, "Error of the reading", "3.80 K"),
        # algebra of the forms: series 2, 40 s, 20 s has parallel gains 3, 0.05, 40
        ("pid-forms", {}, "Parallel Kd", "40 s"),
        # Skogestad's process 2 exp(−2s)/(10s + 1): Nyquist
        ("tuning", {}, "Ultimate gain", "4.251"),
        # common practice: heating by a valve that opens with its signal needs a reverse-acting controller
        ("action", {}, "Controller", "reverse acting"),
        # IEC 61508-6 annex B, simplified: 1.5e-6/h, yearly test, with 0.002 of the rest
        ("pfd", {}, "The whole function", "0.00857, SIL 2"),
        # ISA-RP67.04.02: 0.55, 0.4, 0.4
        ("accuracy", {}, "Root sum of squares", "±0.789"),
        # TIA-485-A: an eighth of a load beside a bias of 20
        ("serial-bus", {"unit_load": "0.125"}, "Most stations like these", "96"),
        # IEC 61554 (from memory)
        ("panel", {"front": "48x96"}, "Hole, height", "92 +0.8 mm, never less"),
        # Poisson: mean 0.65 within the lead time, two in stock
        (
            "spares",
            {"installed": "65", "rate_per_year": "0.01", "failures": "0", "years": "0", "lead_weeks": "52.17857"},
            "Hold",
            "2",
        ),
        ("tag-letters", {"tag": "10-PDT-0203A"}, "Suffix", "A"),
    ],
)
def test_a_calculator_answers_what_its_source_gives(db, slug, query, fact, value):
    form = Client().get(address(BY_SLUG[slug]), query).context["form"]

    assert not form.errors
    told = {name.replace("\xa0", " "): told.replace("\xa0", " ") for name, told in form.answers.facts}
    assert told[fact] == value


SOURCE = {"uo_v": "28", "io_ma": "93", "po_mw": "650", "co_nf": "83", "lo_mh": "4.2"}
DEVICE = {"ui_v": "30", "ii_ma": "100", "pi_mw": "700", "ci_nf": "5", "li_mh": "0.1"}
INTRINSICALLY_SAFE = SOURCE | DEVICE | {"length_m": "225", "ignition_c": "240"}


def test_a_safe_circuit_is_compared_only_when_every_figure_was_given(db):
    """Co 83 nF, Ci 5 nF and Li 0.1 mH, 225 m at 200 pF/m: 50 nF against 41.5 nF (IEC 60079-14, from memory)."""
    page = Client().get("/calculators/intrinsic-safety/", INTRINSICALLY_SAFE).content.decode()
    partly = Client().get("/calculators/intrinsic-safety/", INTRINSICALLY_SAFE | {"ci_nf": ""}).content.decode()

    assert "Fails: Comparison of the parameters: capacitance." in page
    assert "both allowances are halved" in page
    assert "The certificate and a competent person decide" in page
    assert "Still to give: Ci." in partly
    assert "Passes" not in partly


def test_units_are_all_told(db):
    page = Client().get("/calculators/units/", {"value": "1", "unit": "BAR"})
    rows = {row[0]: row[1] for row in page.context["form"].answers.tables[0].rows}

    assert rows["psi"] == "14.503774"


def test_a_page_that_is_open_is_sent_the_answers_alone(db):
    whole = Client().get("/calculators/", {"value": "100"})
    part = Client().get("/calculators/", {"value": "100"}, headers={"HX-Request": "true"})

    assert "<h1>" in whole.content.decode()
    assert "<h1>" not in part.content.decode()
    assert "212.00" in part.content.decode()
    assert "HX-Request" in part.headers["Vary"]  # or Back would show the part for the whole


@pytest.mark.parametrize(
    ("slug", "query", "reason"),
    [
        ("sensor", {"value": "1e9"}, "Type K is defined from -270 to 1372 °C; 1e+09 °C lies outside."),
        ("sensor", {"value": "warm"}, "“warm” is not a number. Write it as 12.5."),
        ("sensor", {"value": "5", "known": "ohm"}, "A sensor of type K thermocouple gives mV, not Ω"),
        ("signal", {"low": "5", "high": "5"}, "has no width"),
        ("two-wire-loop", {"conductor": "other"}, "Give the other cable&#x27;s resistance in Ω/km"),
        ("two-ends", {"sender": "0-10V"}, "4–20 mA"),
        ("pid-forms", {"form_": "parallel"}, "choose what integral and derivative are"),
        ("pid-forms", {"form_": "ideal", "integral": "4"}, "less than four times Td"),
        ("tuning", {"gain": "0"}, "cannot be controlled"),
        ("tag-letters", {"tag": "LHAH-1"}, "out of order"),
        ("accuracy", {"errors_": "a b"}, "Write numbers with blanks between them"),
        ("spares", {"level_percent": "100"}, "from 0 to 0.999999"),
    ],
)
def test_what_cannot_be_calculated_says_why_and_keeps_what_was_typed(db, slug, query, reason):
    response = Client().get(address(BY_SLUG[slug]), query)
    page = response.content.decode()

    assert response.status_code == 200
    assert reason in page
    for name, typed in query.items():
        if isinstance(BY_SLUG[slug].base_fields[name], forms.CharField):
            assert f'value="{typed}"' in page


ODD = st.one_of(
    st.floats(allow_nan=False, allow_infinity=False).map(repr),
    st.sampled_from(["", "0", "-0", "1e-300", "1e12", "-273.15", "nan", "inf", "1,5", "\0", "½", "9" * 400, "1e99999"]),
    st.text(max_size=12),
)


@pytest.mark.parametrize("calculator", CALCULATORS, ids=lambda of: of.slug)
@given(data=st.data())
def test_no_input_breaks_a_calculator(calculator, data):
    query = {}
    for name, field in calculator.base_fields.items():
        if isinstance(field, forms.ChoiceField):
            words = [value for value, _ in forms.ChoiceField(choices=field.choices).choices if isinstance(value, str)]
            query[name] = data.draw(st.sampled_from([*words, "none of these"]))
        else:
            query[name] = data.draw(st.one_of(ODD, st.just(str(field.initial or ""))))
    form = calculator.asked(query)

    assert (form.answers is None) == bool(form.missing or form.errors)


@pytest.mark.parametrize("path", ADDRESSES)
def test_nobody_need_be_signed_in_and_nothing_can_be_sent(db, path):
    assert Client().get(path).status_code == 200
    assert Client().post(path).status_code == 405


def test_the_reference_names_a_source_for_every_calculation(db):
    page = Client().get("/calculators/reference/")
    without = [one.call for theme in page.context["themes"] for one in theme.calculations if not one.source]

    assert without == []
    assert "greatest_burden_ohm(supply_v, min_terminal_v, current_ma)" in page.content.decode()


@pytest.mark.browser
def test_a_technician_types_a_millivolt_on_a_phone_and_reads_the_temperature_at_once(phone_page: Page):
    phone_page.goto("/calculators/")
    phone_page.get_by_label("What it is").select_option("mV")
    phone_page.get_by_label("Terminals", exact=True).fill("0")
    phone_page.get_by_label("Known value", exact=True).fill("12.209")

    expect(phone_page.locator("#answers")).to_contain_text("300.0")  # NIST Monograph 175: type K, 12.209 mV
    expect(phone_page.locator("#tables")).to_contain_text("type J thermocouple")
    expect(phone_page).to_have_url(re.compile("value=12.209&known=mV"))
    phone_page.reload()
    expect(phone_page.get_by_label("Known value", exact=True)).to_have_value("12.209")
    expect(phone_page.locator("#answers")).to_contain_text("300.0")
    expect(phone_page.locator("#answers")).to_be_in_viewport()


@pytest.mark.browser
def test_without_scripts_a_button_calculates(browser, live_server):
    context = browser.new_context(base_url=live_server.url, java_script_enabled=False)
    page = context.new_page()
    page.goto("/calculators/two-wire-loop/")
    page.get_by_label("Supply").fill("12")
    page.get_by_role("button", name="Calculate").click()

    expect(page.locator("#answers")).to_contain_text("Too little at 20 mA")
    context.close()


@pytest.mark.browser
@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_every_calculator_is_accessible_and_fits_its_screen(size, open_page):
    page = open_page(size)
    for path in ADDRESSES:
        page.goto(path)
        assert_accessible(page)
        assert_fits(page)
