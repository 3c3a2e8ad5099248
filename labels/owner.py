"""The owner's rules for labels, as the layouts take them, and checked before they are kept."""

import json
from decimal import Decimal
from typing import Final

from django.conf import settings

from labels import seeds, shelf
from labels.design import LabelSettings, label
from labels.layout import lay_out
from labels.own_sign import read, taken_in_again
from labels.panel_layout import room_for_qr
from labels.qr import SMALLEST_MODULE_MM, ModuleTooSmallError, Size, choose, smallest
from labels.refusals import LabelRefusal
from labels.sheet_svg import label_svg
from labels.stock import OFFICE_DPI, dot_mm
from records.changes import OpenChange, label_rules
from records.models import KEPT, CautionSign, LabelRules, PrintRun

SAMPLE_CODE: Final = "00000000"
"""All codes are equally long, so any of them shows how large a link's QR is."""

USUAL_LANGUAGE: Final = "en"


class CautionError(LabelRefusal):
    """A caution for a language and country that none is known for."""

    code = "label_caution"


def rules() -> LabelRules:
    """Return the rules that hold, or those of a new record where none were settled yet."""
    return LabelRules.objects.first() or LabelRules(
        host=settings.LEGBOOK_HOST,
        smallest_module_mm=Decimal(str(SMALLEST_MODULE_MM)),
        language=USUAL_LANGUAGE,
    )


def sign() -> CautionSign:
    """Return the pictogram that replaces the country's, or an empty record where none does."""
    return CautionSign.objects.first() or CautionSign()


def settled() -> LabelSettings:
    """Return what holds, as the layouts take it."""
    return label_settings(rules(), sign())


def label_settings(of: LabelRules, own: CautionSign) -> LabelSettings:
    """Return rules, and the pictogram of one's own, as the layouts take them."""
    return LabelSettings(
        host=of.host,
        has_upper_case_link=of.has_upper_case_link,
        has_upper_case_text=of.has_upper_case_text,
        requires_qr=of.requires_qr,
        smallest_module_mm=float(of.smallest_module_mm),
        has_https=settings.LEGBOOK_HTTPS,
        own_picture=own.picture,
    )


def caution_words(of: LabelRules, own: CautionSign) -> seeds.CautionWords:
    """Return pictogram and words by these rules; the owner's own, where there are any."""
    usual = seeds.caution_words()[of.language]
    return usual._replace(
        pictogram=_name_of(own) or usual.pictogram,
        signal=of.signal or usual.signal,
        words=of.words or usual.words,
    )


def _name_of(own: CautionSign) -> str:
    """Return what a label records of a pictogram; nothing where the country's serves."""
    return read(own.picture).name if own.picture else own.pictogram


def settle(change: OpenChange, wanted: LabelRules, own: CautionSign) -> LabelRules:
    """Keep other rules, once it is known that their links fit a QR that labels can carry.

    Raises: LabelError, LinkError, CautionError, PictogramError; what `label_rules.settle` raises.
    """
    own = check(wanted, own)
    return label_rules.settle(
        change,
        host=wanted.host,
        smallest_module_mm=float(wanted.smallest_module_mm),
        language=wanted.language,
        has_upper_case_link=wanted.has_upper_case_link,
        has_upper_case_text=wanted.has_upper_case_text,
        requires_qr=wanted.requires_qr,
        signal=wanted.signal,
        words=wanted.words,
        pictogram=own.pictogram,
        picture=own.picture,
    )


def check(wanted: LabelRules, own: CautionSign) -> CautionSign:
    """Refuse rules by which nothing could be printed, see `settle`; return the sign checked."""
    if wanted.language not in seeds.caution_words():
        raise CautionError(
            f"No caution is known for {wanted.language!r}.",
            f"Choose one of {', '.join(seeds.caution_words())}, and give words of your own.",
        )
    qr_size(wanted)
    picture = taken_in_again(own.picture) if own.picture else ""
    return CautionSign(pictogram=own.pictogram, picture=picture)


def caution_picture(of: LabelRules, own: CautionSign) -> str:
    """Return an SVG of a caution by these rules, without a level. Raises: LabelRefusal."""
    said = caution_words(of, own)
    face = shelf.stock(shelf.USUAL_SHEET).face()
    example = label("caution", pictogram=said.pictogram, signal=said.signal, words=said.words)
    return label_svg(lay_out(example, face, label_settings(of, own)))


def qr_size(of: LabelRules) -> Size:
    """Return the smallest QR that these rules' links may be printed as.

    Raises: LabelError for the module; LinkError for the host.
    """
    return smallest(sample_link(of), dot_mm(OFFICE_DPI), float(of.smallest_module_mm))


def sample_link(of: LabelRules) -> str:
    """Return a link by these rules. Raises: LinkError."""
    return label_settings(of, CautionSign()).link(SAMPLE_CODE)


def sheets_without_qr(of: LabelRules) -> dict[str, str]:
    """Return the sheets whose labels have no room for a QR by these rules, and why."""
    text, module_mm = sample_link(of), float(of.smallest_module_mm)
    found = {}
    for sheet in seeds.sheets().values():
        face = sheet.face()
        try:
            choose(text, room_for_qr(face), face.dot_mm, module_mm)
        except ModuleTooSmallError as error:
            found[sheet.id] = error.message
    return found


def known_hosts() -> tuple[str, ...]:
    """Return the hosts that labels of this record ever led to, today's first."""
    past = KEPT[LabelRules].objects.order_by("-row").values_list("host", flat=True)
    printed = PrintRun.objects.order_by().values_list("rules", flat=True).distinct()
    of_runs = (json.loads(each)["host"] for each in printed)
    hosts = (rules().host, *past, settings.LEGBOOK_HOST, *of_runs)
    return tuple(dict.fromkeys(host.lower() for host in hosts))
