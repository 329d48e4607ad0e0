"""What is asked of what a sheet says of a stack. As `questions`, whose table this is part of.

Imports nothing.
"""

from __future__ import annotations

_STOOD = {
    "stood": "the face of zero Y, or the one towards you",
    "squared": "the face of zero X, or the one at the left",
    "top_member": "the first body's, whose faces these are",
    "_down": "= down",
}
_GAP = {
    "gap_mm": "between two layers that follow each other and do not touch",
    "near": "the member above it",
    "far": "the member below it",
}

STACK: dict[str, dict[str, str]] = {
    "stack-first": {
        "members": "all that stand in the stack, top first",
        "alike_mm": "0.02 mm, typed again, where members stand between the bored ones",
    },
    "stack-screws": {
        "screws": "the screws whose members all stand in it",
        "_tight": "= finger tight",
        **_STOOD,
    },
    "stack-clamps": _STOOD,
    "stack-scrap": _GAP,
    "stack-open": _GAP,
    "stack-layers": {
        "face": "the face that is up",
        "top_member": "the first body's",
        "layers": "each body that bores pass, top first",
        "_when": "= before",
    },
    "layer": {
        "layer": "its name",
        "begins": "how far below the face it begins",
        "ends": "and ends",
    },
    "stack-heads": {
        "over_mm": "what stands out of the face that is up, the most of it",
        "face": "the face that is up",
    },
    "stack-heads-under": {"under_mm": "what stands out of the one below", "seat": "the face below"},
    "stack-pins": {"holes": "every bore, in the order of the steps"},
    "over-pins": {
        "hole": "the first bore",
        "other": "each of the others",
        "over": "their distance by the part, and half of both",
        "top_layer": "the first layer that both pass",
        "low_layer": "the last",
    },
    "stack-apart": {},
}
