"""The form of what the owner settles for all labels."""

from django import forms
from django.forms import model_to_dict

from labels import seeds
from labels.own_sign import LARGEST_KB, LEAST_PX, MOST_PX, PictogramError, taken_in
from labels.qr import SMALLEST_MODULE_MM
from records.models import CautionSign, LabelRules, Pictogram
from records.web.forms.fields import FigureField, WordField


class RulesForm(forms.Form):
    """What the owner settles for all labels."""

    label_suffix = ""

    host = WordField(
        label="Host that QR codes lead to",
        max_length=120,
        help_text="As in LABELS.EXAMPLE.ORG. The shorter, the larger the modules of the QR.",
    )
    has_upper_case_link = forms.BooleanField(
        label="Links in upper case: smaller QR codes", required=False
    )
    has_upper_case_text = forms.BooleanField(label="Text in upper case", required=False)
    requires_qr = forms.BooleanField(
        label="Refuse a label whose QR doesn't fit, rather than print its code as text",
        required=False,
    )
    smallest_module_mm = FigureField(
        "mm",
        label="Smallest module of a QR",
        help_text=f"{SMALLEST_MODULE_MM:g} mm or more: under that phones don't read it.",
    )
    language = forms.ChoiceField(
        label="Country of cautions",
        choices=lambda: [
            (tag, f"{words.country}: {words.signal}, {Pictogram(words.pictogram).label}")
            for tag, words in seeds.caution_words().items()
        ],
        help_text="It gives them their pictogram and their words. Let your assessor confirm both.",
    )
    pictogram = forms.ChoiceField(
        label="Pictogram",
        required=False,
        choices=[("", "the usual one of the country"), *Pictogram.choices],
    )
    file = forms.FileField(
        label="Picture of your own",
        required=False,
        widget=forms.FileInput(attrs={"accept": "image/png"}),
        help_text=(
            f"A PNG of {LEAST_PX} to {MOST_PX} pixels a side, black, yellow and white. Only for a "
            "pictogram of your own; the one that you have stays as long as you give no other."
        ),
    )
    picture = forms.CharField(required=False, widget=forms.HiddenInput)
    signal = forms.CharField(
        label="Signal word of your own",
        required=False,
        max_length=40,
        help_text="Empty: the usual one of the country.",
    )
    words = forms.CharField(
        label="Words of your own",
        required=False,
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="As your country or your assessor wants them.",
    )

    @classmethod
    def filled(cls, row: LabelRules, sign: CautionSign) -> "RulesForm":
        """Return the form as the rules stand."""
        held = {**model_to_dict(row), **model_to_dict(sign)}
        return cls({name: held.get(name) for name in cls.base_fields})

    def wanted(self) -> LabelRules:
        """Return the rules asked for, not yet kept."""
        of_sign = {"pictogram", "file", "picture"}
        return LabelRules(
            **{name: each for name, each in self.cleaned_data.items() if name not in of_sign}
        )

    def sign(self) -> CautionSign:
        """Return the pictogram asked for in place of the country's. Raises: PictogramError."""
        pictogram, file = self.cleaned_data["pictogram"], self.cleaned_data["file"]
        if pictogram != Pictogram.OWN:
            if file:
                raise PictogramError(
                    "A picture is given, and another pictogram chosen.",
                    f"Choose {Pictogram.OWN.label} as pictogram, or give no picture.",
                )
            return CautionSign(pictogram=pictogram)
        picture = (
            taken_in(file.read(LARGEST_KB * 1000 + 1)) if file else self.cleaned_data["picture"]
        )
        if not picture:
            raise PictogramError("A pictogram of your own needs its picture.", "Choose its file.")
        return CautionSign(pictogram=pictogram, picture=picture)
