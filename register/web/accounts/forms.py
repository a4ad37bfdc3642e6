from django.contrib.auth.forms import AuthenticationForm, UsernameField
from django.forms import TextInput
from django.utils.translation import gettext_lazy as _


class SignInForm(AuthenticationForm):
    username = UsernameField(label=_("User name"), widget=TextInput(attrs={"autofocus": True, "spellcheck": "false"}))
    error_messages = {
        "invalid_login": _("The user name or the password is wrong. Capital and small letters count as different."),
        "inactive": _("This user name is no longer in use. Ask an administrator."),
    }
