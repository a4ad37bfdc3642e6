"""The planner's forms on the catalogue."""

from decimal import Decimal

import pytest
from django.urls import reverse

from register.loading import load_models
from register.models import CatalogueModel, Loop, ModelPort
from register.plant import sketch, values
from register.web.catalogue.forms import CatalogueModelForm, ModelPortForm, ModelSignalForm
from tests import factories


@pytest.fixture
def plant(person):
    factories.loop(sketch.temperature_loop("101"), by=person("planner"))


def model(name: str) -> CatalogueModel:
    return CatalogueModel.objects.get(name=name)


def sent(page, **typed) -> dict:
    """What the browser would send of a page's form and rows, with some of it typed over."""
    data = {}
    for form in (page.context["form"], *(page.context["formset"] or ())):
        for field in form:
            value = field.value()
            if value is not False and value not in (None, ""):
                data[field.html_name] = value
    if page.context["formset"]:
        for field in page.context["formset"].management_form:
            data[field.html_name] = field.value()
    return data | {"reason": "Read the data sheet"} | typed


@pytest.mark.parametrize(
    ("value", "form", "otherwise"),
    [
        (values.Model, CatalogueModelForm, {"range_limits", "ex", "ports", "bays"}),
        (values.ExData, CatalogueModelForm, set()),
        (values.ModelPort, ModelPortForm, {"signals"}),
        (values.ModelSignal, ModelSignalForm, {"limits"}),
    ],
)
def test_everything_that_a_rule_reads_of_a_model_can_be_entered(value, form, otherwise):
    assert set(value.__struct_fields__) - otherwise <= set(form.base_fields)


def test_a_correction_shows_what_it_would_change_before_it_is_saved(plant, signed_in):
    client, address = signed_in("planner"), reverse("catalogue:edit", args=[model("Probe pt100").pk])
    typed = sent(client.get(address), limits_high="150")

    preview = client.post(address, typed | {"preview": "1"})
    assert [one.rule for one in preview.context["preview"].appear] == ["range-beyond-sensor"]
    assert model("Probe pt100").limits_high == Decimal(400)

    assert client.post(address, typed).status_code == 302
    assert model("Probe pt100").limits_high == Decimal(150)
    assert Loop.objects.get(number="T-101").open_errors == 1
    page = client.get(reverse("catalogue:detail", args=[model("Probe pt100").pk])).content.decode()
    assert "range limits −50 to 400 °C → −50 to 150 °C" in page


def test_whoever_saves_second_sees_the_first_change_and_loses_nothing_typed(plant, signed_in):
    client, address = signed_in("planner"), reverse("catalogue:edit", args=[model("Probe pt100").pk])
    first, second = (sent(client.get(address), **typed) for typed in ({"wires": "4"}, {"description": "In a pocket"}))
    client.post(address, first)

    answer = client.post(address, second)
    assert answer.status_code == 200
    assert "changed Quarrymoor Probe pt100 while you were editing" in answer.content.decode()
    assert answer.context["form"]["description"].value() == "In a pocket"
    assert model("Probe pt100").description == ""

    assert client.post(address, sent(answer)).status_code == 302
    assert model("Probe pt100").description == "In a pocket"


def test_a_new_model_takes_over_what_it_is_a_copy_of(plant, signed_in):
    original = model("Regent 96")
    address = f"{reverse('catalogue:create')}?copy={original.pk}"
    client = signed_in("planner")
    page = client.get(address)
    assert page.context["form"]["display_digits"].value() == original.display_digits
    again = client.post(address, sent(page))
    assert "The catalogue holds a model of this maker and name already." in again.content.decode()

    assert client.post(address, sent(page, name="Regent 96 S", depth_mm="90")).status_code == 302
    copied = load_models([model("Regent 96 S").pk])[model("Regent 96 S").pk]
    assert copied.bays == load_models([original.pk])[original.pk].bays
    assert copied.depth_mm == Decimal(90)


def test_a_port_and_its_signals_are_entered_on_one_page(plant, signed_in):
    regent = model("Regent 96")
    client, address = signed_in("planner"), reverse("catalogue:port_create", args=[regent.pk])
    typed = {
        "name": "Second input",
        "direction": "in",
        "purposes": ["measurement", "remote set point"],
        "resistance_ohm": "250",
        "signals-0-signal": "4-20mA",
        "signals-1-signal": "pt100",
        "signals-1-limits_low": "-50",
        "signals-1-limits_high": "400",
    }
    refused = client.post(address, sent(client.get(address), **typed))
    assert "Choose the unit of the range" in refused.content.decode()

    typed["signals-1-limits_unit"] = "CEL"
    assert client.post(address, sent(client.get(address), **typed)).status_code == 302
    port = load_models([regent.pk])[regent.pk].ports[-1]
    assert (port.name, port.purposes) == ("Second input", ("measurement", "remote set point"))
    assert [(one.signal, str(one.limits or "")) for one in port.signals] == [("4-20mA", ""), ("pt100", "−50 to 400 °C")]


def test_a_signal_is_taken_away_and_the_others_stay(plant, signed_in):
    port = ModelPort.objects.get(model__name="Regent 96", name="Input")
    keys = list(port.signals.values_list("signal", flat=True))
    client, address = signed_in("planner"), reverse("catalogue:port", args=[port.model_id, port.pk])
    assert client.post(address, sent(client.get(address), **{"signals-0-DELETE": "on"})).status_code == 302
    assert list(port.signals.values_list("signal", flat=True)) == keys[1:]


def test_a_bay_is_corrected_and_removed(plant, signed_in):
    bay = model("Regent 96").bays.get(name="2")
    client = signed_in("planner")
    address = reverse("catalogue:bay", args=[bay.model_id, bay.pk])
    page = client.get(address)
    assert client.post(address, sent(page, takes=[])).status_code == 302
    assert not bay.takes.exists()

    address = reverse("catalogue:bay_remove", args=[bay.model_id, bay.pk])
    assert client.post(address, sent(client.get(address))).status_code == 302
    assert not model("Regent 96").bays.filter(name="2").exists()


def test_a_family_with_a_comma_is_refused_with_the_remedy(plant, signed_in):
    answer = signed_in("planner").post(
        reverse("catalogue:family_create"), {"name": "relay, triac", "reason": "New boards"}
    )
    assert "Name it without one" in answer.content.decode()
