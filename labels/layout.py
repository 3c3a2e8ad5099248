"""Where things stand on a label: `lay_out` turns what it says into a drawing for its stock."""

from labels.cable_layout import flag, wrap
from labels.caution import caution
from labels.design import Arrangement, Label, LabelSettings
from labels.drawing import Drawing
from labels.panel_layout import panel, text_only
from labels.stock import Face


def lay_out(label: Label, face: Face, settings: LabelSettings) -> Drawing:
    """Lay one label out on one piece of stock.

    Where a QR can't have the smallest module the label carries its code as text, and the
    drawing's notes say why; `settings.requires_qr` makes that a refusal.

    Raises: LabelRefusal in its kinds: text too long, glyph missing, module too small, cable size.
    """
    match label.kind.arrangement:
        case Arrangement.PANEL:
            return panel(label, face, settings)
        case Arrangement.WRAP:
            return wrap(label, face, settings)
        case Arrangement.FLAG:
            return flag(label, face, settings)
        case Arrangement.LINE:
            return text_only(label, face, settings, is_centred=True)
        case Arrangement.CAUTION:
            return caution(label, face, settings)
