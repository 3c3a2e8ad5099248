"""How Django knows the main application."""

from django.apps import AppConfig


class RecordsConfig(AppConfig):
    """The record, under the short label that its tables carry."""

    name = "records"
    label = "records"
    verbose_name = "Legbook records"
