"""The administration pages: people and the plant's settings, which no other page keeps. Writes go through services."""

from __future__ import annotations

from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.contrib.auth.forms import UserChangeForm
from django.contrib.auth.models import Group
from django.core.exceptions import ValidationError

from register.models import PlantSettings, User, UserRole
from register.services import people
from register.services.permissions import May, may

admin.site.unregister(Group)
admin.site.site_header = "Loop register: administration"
admin.site.site_title = "Administration"
admin.site.index_title = "People and plant"


class ForAdministrators:
    """Only administrators, and nothing is ever deleted: a person is made inactive instead."""

    def has_module_permission(self, request) -> bool:
        return may(request.user, May.ADMINISTER)

    def has_view_permission(self, request, obj=None) -> bool:
        return may(request.user, May.ADMINISTER)

    def has_change_permission(self, request, obj=None) -> bool:
        return may(request.user, May.ADMINISTER)

    def has_add_permission(self, request) -> bool:
        return may(request.user, May.ADMINISTER)

    def has_delete_permission(self, request, obj=None) -> bool:
        return False


class PersonForm(UserChangeForm):
    def clean(self):
        cleaned = super().clean()
        stays = cleaned.get("role") == UserRole.ADMINISTRATOR and cleaned.get("is_active")
        if not stays and not people.another_administrator(self.instance):
            raise ValidationError({"role": people.NOBODY_LEFT})
        return cleaned


@admin.register(User)
class PersonAdmin(ForAdministrators, UserAdmin):
    form = PersonForm
    list_display = ("username", "first_name", "last_name", "role", "is_active", "last_login")
    list_filter = ("role", "is_active")
    fieldsets = (
        (None, {"fields": ("username", "password")}),
        ("Person", {"fields": ("first_name", "last_name", "email")}),
        ("Role", {"fields": ("role", "is_active")}),
    )
    add_fieldsets = ((None, {"classes": ("wide",), "fields": ("username", "role", "password1", "password2")}),)

    def save_model(self, request, obj, form, change) -> None:
        people.save_person(obj, by=request.user)


@admin.register(PlantSettings)
class PlantSettingsAdmin(ForAdministrators, admin.ModelAdmin):
    def has_add_permission(self, request) -> bool:
        return may(request.user, May.ADMINISTER) and not PlantSettings.objects.exists()

    def save_model(self, request, obj, form, change) -> None:
        people.save_plant_settings(obj, by=request.user)
