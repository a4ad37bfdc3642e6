from django.apps import AppConfig


class RegisterConfig(AppConfig):
    name = "register"
    label = "register"
    verbose_name = "Instrument loop register"
    default_auto_field = "django.db.models.BigAutoField"
