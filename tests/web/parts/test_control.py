from datetime import date

from django import forms

from register.templatetags.register import control


class Form(forms.Form):
    on = forms.DateField(widget=forms.DateInput(attrs={"type": "date"}))


def test_a_date_field_shows_the_day_it_holds_in_the_form_that_html_takes():
    """HTML, "date string": four digits, two, two, parted by hyphens. Otherwise the browser shows the field empty."""
    assert 'value="2026-03-04"' in control(Form(initial={"on": date(2026, 3, 4)})["on"])
    assert 'value="2026-03-04"' in control(Form({"on": "2026-03-04"})["on"])
