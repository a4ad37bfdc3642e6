from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator
from contextlib import suppress
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms import BoundField
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from register.calc.tag_patterns import BadPattern, read_patterns
from register.exchange.foreign.files import ENCODINGS, SEPARATORS
from register.exchange.foreign.indexes import LEAVE_OUT, LETTERS, REST, Question
from register.exchange.foreign.keeping import Opened
from register.exchange.foreign.targets import targets
from register.models import PlantSettings
from register.web.exchange.forms import ACCEPTED

LISTS = {"unit": "units", "cutout": "fronts"}
"""What is offered while an answer is typed, by target: the page's list of that name."""
MOST_ASKED = 100
"""Questions on a page."""


class PatternsForm(forms.ModelForm):
    class Meta:
        model = PlantSettings
        fields = ["tag_patterns"]
        widgets = {"tag_patterns": forms.Textarea(attrs={"rows": 4, "spellcheck": "false"})}


class TagsForm(forms.Form):
    """Tags to try the patterns on."""

    tags = forms.CharField(
        label=_("Tags to try, one a line"), required=False, widget=forms.Textarea(attrs={"rows": 4}), max_length=2000
    )


def _target_choices() -> list[tuple[str, Any]]:
    groups: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for target in targets().values():
        groups[str(target.group)].append((target.key, str(target.label)))
    return [("", gettext("not read")), *groups.items()]


class MappingForm(forms.Form):
    """Everything that can be chosen about a file: where its headings stand, what its columns are, and the answers."""

    sheet = forms.ChoiceField(label=_("Sheet"))
    heading_row = forms.IntegerField(label=_("Row of the headings"), min_value=1, max_value=10_000)
    heading_rows = forms.TypedChoiceField(
        label=_("Headings take"), coerce=int, choices=[(1, _("one row")), (2, _("two rows"))]
    )
    encoding = forms.ChoiceField(label=_("Encoding"), choices=list(ENCODINGS.items()))
    separator = forms.ChoiceField(label=_("Separator"), choices=list(SEPARATORS.items()))
    patterns = forms.CharField(
        label=_("How tags are written"),
        help_text=_("Patterns, one a line. The first that a tag fits holds, and the tag is kept as that writes it."),
        widget=forms.Textarea(attrs={"rows": 3, "spellcheck": "false"}),
        required=False,
    )
    area = forms.CharField(
        label=_("Area of rows that name none"),
        help_text=_("Code or name of an area. One that the register does not hold is added."),
        max_length=80,
        required=False,
        widget=forms.TextInput(attrs={"list": "areas", "autocomplete": "off"}),
    )
    mapping_name = forms.CharField(
        label=_("Keep this mapping as"),
        help_text=_("It is offered again for a file with these headings."),
        max_length=80,
        required=False,
    )
    file = forms.FileField(
        label=_("The file, put right"),
        help_text=_("It takes the place of this one and is read in the same way."),
        required=False,
        allow_empty_file=True,
        widget=forms.FileInput(attrs={"accept": ACCEPTED}),
    )

    def __init__(self, data: Any = None, files: Any = None, *, opened: Opened, questions: list[Question]):
        self.opened, self.questions = opened, questions
        kept, mapping = opened.kept, opened.mapping
        initial = {
            "sheet": kept.sheet,
            "heading_row": mapping.heading_row,
            "heading_rows": mapping.heading_rows,
            "encoding": kept.encoding,
            "separator": kept.separator,
            "patterns": mapping.patterns,
            "area": mapping.area,
            "mapping_name": kept.mapping_name,
        }
        super().__init__(data, files, initial=initial)
        if opened.file.is_text:
            del self.fields["sheet"]
        else:
            self.fields["sheet"].choices = [(name, name) for name in opened.file.sheet_names]
            del self.fields["encoding"], self.fields["separator"]
        choices = _target_choices()
        for place, heading in enumerate(opened.headings.texts):
            label = heading or gettext("column %(number)d") % {"number": place + 1}
            self.fields[f"column-{place}"] = forms.ChoiceField(
                label=label, choices=choices, required=False, initial=mapping.columns.get(place, "")
            )
        for number, question in enumerate(questions):
            self._ask(number, question)

    def _ask(self, number: int, question: Question) -> None:
        answer = self.opened.mapping.answer(question.key, question.text)
        self.fields[f"asked-{number}"] = forms.CharField(
            widget=forms.HiddenInput, initial=json.dumps([question.key, question.text], ensure_ascii=False)
        )
        label = question.text if question.text != REST else gettext("every other text")
        if question.words or question.text == REST:
            leave = gettext("leave these rows out") if question.key in (LETTERS, "tag") else gettext("leave it empty")
            choices = [("", gettext("not answered")), (LEAVE_OUT, leave), *((word, word) for word in question.words)]
            self.fields[f"answer-{number}"] = forms.ChoiceField(
                label=label, choices=choices, required=False, initial=answer
            )
            return
        given = {"list": LISTS[question.key]} if question.key in LISTS else {}
        self.fields[f"answer-{number}"] = forms.CharField(
            label=label,
            required=False,
            initial="" if answer == LEAVE_OUT else answer,
            widget=forms.TextInput(attrs=given | {"autocomplete": "off"}),
        )
        self.fields[f"leave-{number}"] = forms.BooleanField(
            label=gettext("leave these rows out") if question.key == "tag" else gettext("leave it empty"),
            required=False,
            initial=answer == LEAVE_OUT,
        )

    def clean_patterns(self) -> str:
        try:
            read_patterns(self.cleaned_data["patterns"])
        except BadPattern as fault:
            raise ValidationError(str(fault)) from None
        return self.cleaned_data["patterns"]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        seen: dict[str, str] = {}
        for place in range(len(self.opened.headings.texts)):
            key, name = cleaned.get(f"column-{place}"), f"column-{place}"
            if key and key in seen:
                what = {"what": targets()[key].label, "other": self.fields[seen[key]].label}
                self.add_error(name, gettext("“%(other)s” is %(what)s already. Choose it for one column.") % what)
            elif key:
                seen[key] = name
        return cleaned

    # What the page shows beside each other

    def columns(self) -> Iterator[tuple[int, BoundField]]:
        for place in range(len(self.opened.headings.texts)):
            yield place, self[f"column-{place}"]

    def asked(self) -> Iterator[tuple[Question, BoundField, BoundField, BoundField | None]]:
        """Each question with the fields of its answer."""
        for number, question in enumerate(self.questions):
            leave = self[f"leave-{number}"] if f"leave-{number}" in self.fields else None
            yield question, self[f"asked-{number}"], self[f"answer-{number}"], leave

    @staticmethod
    def questions_in(data: Any) -> list[Question]:
        """The questions that a form was sent with."""
        sent = (data.get(f"asked-{number}") for number in range(MOST_ASKED))
        found = []
        for one in sent:
            with suppress(TypeError, ValueError):
                key, text = json.loads(one)
                if key == LETTERS or key in targets():
                    found.append(Question(key, str(text)))
        return found

    # What was chosen

    def chosen_columns(self) -> dict[int, str]:
        places = range(len(self.opened.headings.texts))
        return {place: key for place in places if (key := self.cleaned_data.get(f"column-{place}"))}

    def answers(self) -> dict[str, dict[str, str]]:
        """All answers: what this form asked anew, and what it did not ask as it stands."""
        given = {key: dict(texts) for key, texts in self.opened.mapping.answers.items()}
        for number, question in enumerate(self.questions):
            key, text, left = question.key, question.text, self.cleaned_data.get(f"leave-{number}")
            answer = LEAVE_OUT if left else self.cleaned_data[f"answer-{number}"]
            given.setdefault(key, {}).pop(text, None)
            if answer:
                given[key][text] = answer
        return {key: texts for key, texts in given.items() if texts}
