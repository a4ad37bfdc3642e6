"""The pages in German: every text has its words, and those in use are those that were written."""

from __future__ import annotations

import gettext
import inspect
from enum import StrEnum
from pathlib import Path

import polib
import pytest
from django.conf import settings
from django.utils.translation import gettext as translated
from django.utils.translation import override

from register.models import UserRole
from register.plant import words
from register.web.parts.vocabulary import WORDS
from register.web.tags.forms import AlarmForm, PortForm, SettingsForm, TagForm
from tests import factories

CATALOGUE = Path(settings.LOCALE_PATHS[0], "de", "LC_MESSAGES")


def test_every_text_is_translated_and_what_is_used_is_what_was_written():
    written = polib.pofile(str(CATALOGUE / "django.po"))
    assert [entry.msgid for entry in written if not entry.translated()] == []
    with (CATALOGUE / "django.mo").open("rb") as file:
        used = gettext.GNUTranslations(file)
    for entry in written:
        if not entry.msgid_plural:
            assert used.gettext(entry.msgid) == entry.msgstr


def test_every_word_of_the_vocabularies_is_there_to_be_translated():
    kinds = [one for _, one in inspect.getmembers(words, inspect.isclass) if issubclass(one, StrEnum)]
    spoken = {word.value for kind in (*kinds, UserRole) if kind is not StrEnum for word in kind}
    assert spoken - set(WORDS) == set()


@pytest.mark.django_db
def test_the_fields_of_a_form_and_their_choices_are_in_german():
    forms = (TagForm(), PortForm(), SettingsForm(), AlarmForm())
    labels = {str(field.label) for form in forms for field in form.visible_fields()}
    with override("de"):
        alike = {label for label in labels if translated(label) == label}
        roles = dict(TagForm().fields["role"].choices)
    assert alike <= {"Name", "Zone", "Signal", "Proportional", "Integral", "Bus", "Alarm"}
    assert str(roles["controller"]) == "controller"
    with override("de"):
        assert str(roles["controller"]) == "Regler"


@pytest.mark.django_db
def test_a_page_in_german_keeps_what_the_plant_wrote(person, signed_in):
    factories.loop(by=person("planner"))
    client = signed_in("planner")
    client.cookies["language"] = "de"
    page = client.get("/tags/TIC-101/").content.decode()
    assert '<html lang="de"' in page
    assert "Regler" in page
    assert "Geforderte Einstellungen" in page
    assert "TIC-101" in page


@pytest.mark.django_db
def test_a_printed_sheet_is_the_same_in_whatever_language_it_is_asked_for(person, signed_in):
    factories.loop(by=person("planner"))
    client = signed_in("planner")
    english = client.get("/loops/T-101/sheet.pdf").content
    assert client.get("/loops/T-101/sheet.pdf").content == english
    client.cookies["language"] = "de"
    assert client.get("/loops/T-101/sheet.pdf").content == english
