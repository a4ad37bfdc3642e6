from django.apps import AppConfig
from django.db import connections
from django.db.models.signals import post_migrate


class RegisterConfig(AppConfig):
    name = "register"
    label = "register"
    verbose_name = "Instrument loop register"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self):
        post_migrate.connect(keep_indexes, sender=self)


def keep_indexes(*, using: str, **kwargs) -> None:
    """After a migration, what the database keeps beside the tables."""
    from register.models import searching, tallies

    searching.keep_index(connections[using])
    tallies.keep_tallies(connections[using])
