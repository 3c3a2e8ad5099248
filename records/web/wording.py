"""What every form says of a wrong value, in the words of the house: what is wrong, what will do.

Django's own words are replaced here, once, for the forms of the product and of the libraries it
uses. A field of ours that knows more about its values says so itself (forms/fields.py).
"""

from django import forms

_WORDS: dict[type[forms.Field], dict[str, str]] = {
    forms.Field: {
        "required": "This is empty. Fill it in.",
        "min_length": "This has %(show_value)d characters; give at least %(limit_value)d.",
        "max_length": "This has %(show_value)d characters; give at most %(limit_value)d.",
        "min_value": "%(show_value)s is too small; give at least %(limit_value)s.",
        "max_value": "%(show_value)s is too large; give at most %(limit_value)s.",
    },
    forms.IntegerField: {"invalid": "This is not a whole number. Give one such as 12."},
    forms.FloatField: {"invalid": "This is not a number. Give one such as 1.5."},
    forms.DecimalField: {"invalid": "This is not a number. Give one such as 1.5."},
    forms.DateField: {"invalid": "This is not a date. Give it as 2026-03-02."},
    forms.TimeField: {"invalid": "This is not a time of day. Give it as 09:30."},
    forms.DateTimeField: {"invalid": "This is not a date and time. Give it as 2026-03-02 09:30."},
    forms.ChoiceField: {
        "required": "Nothing is chosen. Choose one.",
        "invalid_choice": "'%(value)s' is not among the choices. Choose one of those shown.",
    },
    forms.MultipleChoiceField: {
        "invalid_choice": "'%(value)s' is not among the choices. Choose from those shown.",
    },
    forms.ModelChoiceField: {
        "required": "Nothing is chosen. Choose one.",
        "invalid_choice": "What was chosen is not among the choices. Choose one of those shown.",
    },
    forms.FileField: {
        "required": "No file is chosen. Choose one.",
        "invalid": "No file came with the form. Choose it again.",
        "missing": "No file came with the form. Choose it again.",
        "empty": "The file is empty. Choose another.",
    },
}


def speak() -> None:
    """Put these words in the place of Django's, before any form is made."""
    for field, words in _WORDS.items():
        field.default_error_messages = {**field.__dict__["default_error_messages"], **words}
