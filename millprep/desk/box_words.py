"""What is typed in a box, without the words that plans put round a figure."""

from __future__ import annotations

from collections.abc import Mapping

from millprep.base.units import Units
from millprep.proven.forms import in_boxes


def in_words(boxes: Mapping[str, str], typed: Mapping[str, str], units: Units) -> dict[str, str]:
    """What was typed in boxes, with the words that plans put round a figure taken off it."""
    out: dict[str, str] = {}
    kind = typed.get("what") or boxes.get("what", "")
    face = boxes.get("face") or "top"
    for key, text in typed.items():
        real = {"deep": "depth", "size": kind}.get(key, key)
        found: Mapping[str, str] = {}
        if real and "#" not in real and text.strip():
            found = in_boxes(real.removeprefix("stock."), text, units, face)  # type: ignore[arg-type]  # a face, or refused there
        if not found or any(name.startswith("at") for name in found):
            out[key] = text
        elif len(found) == 1:
            out[key] = next(iter(found.values()))
        else:
            names = {"depth": "deep", kind: "size"}
            out |= {names.get(name, name): value for name, value in found.items()}
    return out
