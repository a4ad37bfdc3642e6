"""Cables and the cores that links run through."""

from __future__ import annotations

from django.db import models

from register.models.fields import number, text, word_field
from register.models.loops import Link
from register.plant.words import CableUse


class CableQuerySet(models.QuerySet):
    def with_use(self) -> CableQuerySet:
        """Each cable with ``used``: how many of its cores have a link on them."""
        return self.annotate(used=models.Count("core_rows__core", distinct=True))


class Cable(models.Model):
    """Columns bear the names of :class:`register.plant.values.Cable`'s fields; earthing places are joined by comma."""

    name = models.CharField(max_length=60, unique=True)
    use = word_field(CableUse, default=CableUse.INSTRUMENT)
    designation = text(20)
    cores = models.PositiveSmallIntegerField(null=True, blank=True)
    csa_mm2 = number("conductor cross-section (mm²)")
    length_m = number("length (m)")
    capacitance_pf_per_m = number("capacitance (pF/m)")
    inductance_uh_per_m = number("inductance (µH/m)")
    temperature_max_c = number("greatest temperature (°C)")
    screened = models.BooleanField(null=True, blank=True)
    screen_earthed_at = text(200)

    objects = CableQuerySet.as_manager()

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class Core(models.Model):
    """One conductor of a link between two terminals. Two links on one core or terminal are a finding, not an error."""

    link = models.ForeignKey(Link, models.CASCADE, related_name="cores")
    sequence = models.PositiveSmallIntegerField(default=0)
    cable = models.ForeignKey(Cable, models.PROTECT, related_name="core_rows")
    core = models.CharField(max_length=20)
    colour = text(20)
    polarity = text(20)
    from_place = text(60)
    from_terminal = text(20)
    to_place = text(60)
    to_terminal = text(20)

    class Meta:
        ordering = ["link", "sequence", "pk"]
        constraints = [models.UniqueConstraint("link", "sequence", name="one_core_at_a_place_of_a_link")]
        indexes = [
            models.Index("from_place", "from_terminal", name="core_from_terminal"),
            models.Index("to_place", "to_terminal", name="core_to_terminal"),
        ]

    def __str__(self) -> str:
        return f"{self.cable} {self.core}"
