"""What is typed in a box, without the words that plans put round a figure."""

from __future__ import annotations

from collections.abc import Mapping

from millprep.base.units import Units
from millprep.proven.call_outs import in_boxes


def in_words(boxes: Mapping[str, str], typed: Mapping[str, str], units: Units) -> dict[str, str]:
    """What was typed in boxes, with the words that plans put round a figure taken off it."""
    out: dict[str, str] = {}
    for key, text in typed.items():
        real = {"deep": "depth", "size": typed.get("what") or boxes.get("what", "")}.get(key, key)
        if "#" in real or not real or not text.strip():
            out[key] = text
            continue
        found = in_boxes(real.removeprefix("stock."), text, units)
        if len(found) == 1:
            out[key] = next(iter(found.values()))
        else:
            out[key] = text
    return out
