"""How Django knows the main application."""

from django.apps import AppConfig


class RecordsConfig(AppConfig):
    """The record, under the short label that its tables carry."""

    name = "records"
    label = "records"
    verbose_name = "Legbook records"

    def ready(self) -> None:
        """Give forms the words of the house."""
        from records.web import wording  # noqa: PLC0415 (once the fields can be made)

        wording.speak()
