"""One label of every kind, as a crew would print it."""

from typing import Any

from labels import seeds
from labels.design import KINDS, LabelSettings, label
from tests.labels.readers import codes

SETTINGS = LabelSettings("LABELS.ORG")
CODE = "7K3M9QX8"

_CAUTION = seeds.caution_words()["en"]
_SIGNAL, _WORDS = _CAUTION.signal, _CAUTION.words
_CABLE: dict[str, Any] = {
    "code": CODE,
    "name": "FC-0102",
    "end": "A",
    "near_end": "C2-R1",
    "far_end": "HE-01",
}
_FIELDS: dict[str, dict[str, Any]] = {
    "port": {"code": CODE, "number": "12", "equipment": "SP-03", "place_code": "C2-R1"},
    "leg": {"code": CODE, "number": "7", "equipment": "SP-03", "place_code": "C2-R1"},
    "splitter": {"code": CODE, "name": "SP-03", "size": "1:32", "place_code": "C2-R1"},
    "panel": {"code": CODE, "name": "OP-1/2", "size": "24", "place_code": "C2-R1"},
    "tray": {"code": CODE, "number": "4", "equipment": "CL-0017", "size": "12"},
    "closure": {"code": CODE, "name": "CL-0017", "size": "96", "place_code": "CH-114"},
    "terminal": {"code": CODE, "name": "HT-0042", "line": "L000042"},
    "cupboard": {"code": CODE, "name": "RC-04"},
    "blank": {"code": CODE},
    "cable_wrap": {**_CABLE, "diameter_mm": 5.0},
    "cable_flag": {**_CABLE, "diameter_mm": 3.0},
    "home_outlet": {"line": "FI-0042-7311"},
    "caution": {
        "signal": _SIGNAL,
        "words": _WORDS,
        "level": "HAZARD LEVEL 1M",
        "assessed_on": "2026-03-01",
    },
}


def sample(kind, **changes):
    return label(kind, **{**_FIELDS[kind], **changes})


def samples():
    return {kind: sample(kind) for kind in KINDS}


def ports(count, seed=1):
    return [
        sample("port", code=code, number=str(number), equipment=f"SP-{number // 32:02d}")
        for number, code in enumerate(codes(count, seed), start=1)
    ]
