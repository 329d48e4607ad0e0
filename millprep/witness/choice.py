"""Whether what was chosen for a part keeps to what its file says of its setups.

Imports the part only.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from millprep.base.records import replace
from millprep.model.part import Part, SetupRequest
from millprep.witness.expected import visits

_TOWARDS_YOU_AS_DRAWN = {
    "top": "front", "front": "bottom", "right": "bottom", "back": "bottom", "left": "bottom",
    "bottom": "back",
}  # fmt: skip


def broken_by_choice(file: Part, chosen: Part) -> Iterator[str]:
    """In words, what the choice of lays and orders changes that the file has said.

    file : the part as read; chosen : with a setup for each face that has work
    """
    if replace(file, setups=()) != replace(chosen, setups=()):
        yield "the part is another one"
    said = [request for request, _ in visits(file) if request in file.setups]
    kept = [request for request, _ in visits(chosen)]
    for number, (before, after) in enumerate(zip(said, kept, strict=False), 1):
        if replace(before, towards_you=None, laid_for=None) != replace(
            after, towards_you=None, laid_for=None
        ):
            yield f"setup {number} of the file is changed, or comes at another place"
        elif (right := _given(before)) is not None and after.towards_you != right:
            yield f"setup {number} has {after.towards_you} towards you; the file, {right}"
    if len(kept) < len(said) or any(request.towards_you is None for request in kept):
        yield "a setup of the file is missing, or has no lay"
    if _worked(file) != _worked(chosen):
        yield "a hole is worked more than once from a face, or not at all"


def _given(request: SetupRequest) -> str | None:
    """The face towards you that the file says; as drawn, where it tells places on the table."""
    on_table = (request.straps_at_mm, request.parallels_at_mm, request.obstacles)
    is_placed = any(on_table) or (request.zero_x, request.zero_y) != (None, None)
    return request.towards_you or (_TOWARDS_YOU_AS_DRAWN[request.face] if is_placed else None)


def _worked(part: Part) -> Counter[tuple[str, str]]:
    return Counter((request.face, name) for request, names in visits(part) for name in names)
