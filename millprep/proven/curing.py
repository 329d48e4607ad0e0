"""The cures of a part, worst finding first, each as it is written into the file, and tried so.

What moves a hole or alters a depth is found and tried in space; what a remedy of the making tells
to write is written into a copy of the file, which is read, planned and checked once more.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from functools import cached_property
from typing import TYPE_CHECKING

from millprep.base.findings import SEVERITIES, Cure, Edit, Finding, MillprepError, Offer, WordError
from millprep.base.records import replace
from millprep.base.waiting import Dropped, go_on, unless

if TYPE_CHECKING:
    from millprep.infiles.text import Document
    from millprep.model.part import SetupRequest
    from millprep.proven.preparation import Prepared

_HOLES_PLANNED = 3000
_MOST_TRIED = 20
"""What remedies are tried in one part at the most, and how many holes are planned anew for it."""


def cures_of(prepared: Prepared, is_dropped: Callable[[], bool] | None = None) -> Iterator[Finding]:
    """What the checks found, the worst first, each with its cure where there is one.

    is_dropped : asked many times a second: once it is so, no more findings come
    """
    from millprep.infiles.file_bytes import as_if_written

    found = _cures(prepared)
    while True:
        finding = None
        with as_if_written(prepared.texts), unless(is_dropped), suppress(Dropped):
            finding = next(found, None)
        if finding is None:
            return
        yield finding


def with_cure(text: str, cure: Cure) -> str:
    """The text of a part file with what a cure writes."""
    from millprep.infiles.cure_edits import edited

    return edited(text, cure.edits)


def _cures(prepared: Prepared) -> Iterator[Finding]:
    from millprep.checks import alike, cured, told_once

    part, pen = prepared.whole.part, _Pen(prepared)
    for found in cured(prepared.whole, alike(part, prepared.faults)):
        for finding in told_once(part, found):
            go_on()
            yield pen.with_edits(finding)


class _Pen:
    """Writes cures into copies of one part's file."""

    def __init__(self, prepared: Prepared) -> None:
        self.prepared = prepared
        holes = max(len(prepared.whole.part.holes), 1)
        self._left = min(_HOLES_PLANNED // holes, _MOST_TRIED)
        self._no_file = "" if prepared.again else "the part was not read from a file"
        self._before: dict[_Key, int] | None = None

    def with_edits(self, finding: Finding) -> Finding:
        """The finding with what its cure writes; with a cure, where one is offered and does."""
        if finding.cure is not None:
            return replace(finding, cure=self._written(finding.cure))
        if finding.severity == "note" or not finding.offers or self._is_elsewhere:
            return finding
        tried = (self._tried(finding, offer) for offer in finding.offers)
        return replace(finding, cure=next(filter(None, tried), None))

    @cached_property
    def document(self) -> Document:
        from millprep.infiles.text import read_document

        return read_document(self.prepared.whole.part.path)

    @cached_property
    def _text(self) -> str:
        from millprep.infiles.text import text_at

        return text_at(self.document.path)

    @property
    def _is_elsewhere(self) -> bool:
        """Whether what is to be written stands in another file, or in none."""
        part = self.prepared.whole.part
        return bool(self._no_file or part.is_opposite_hand or part.layers)

    def _written(self, cure: Cure) -> Cure:
        from millprep.infiles.cure_edits import edits_of

        if why := self._no_file or cure.no_edits:
            return replace(cure, no_edits=why)
        try:
            edits = edits_of(self.document, self.prepared.whole.part, cure)
            return replace(cure, edits=edits)
        except WordError as error:
            return replace(cure, no_edits=error.message)
        except MillprepError:
            return replace(cure, no_edits="the file is not there any more as it was read")

    def _tried(self, finding: Finding, offer: Offer) -> Cure | None:
        """What is offered, as a cure, where it does away with the finding and brings none."""
        from millprep.infiles.cure_edits import edited

        if self._left <= 0 or self.prepared.again is None:
            return None
        self._left -= 1
        edits = tuple(self._edits(finding, offer))
        if not edits:
            return None
        try:
            text = edited(self._text, edits).encode()
            go_on()
            after = self.prepared.again(text)
        except (MillprepError, WordError):
            return None
        if self._before is None:
            self._before = _grades(self.prepared)
        if not _does(finding, self._before, after):
            return None
        return Cure("making", finding.holes, changes=offer.changes, edits=edits)

    def _edits(self, finding: Finding, offer: Offer) -> Iterator[Edit]:
        from millprep.infiles.cure_edits import index_of

        file, part = self.document.path, self.prepared.whole.part
        if offer.first_face:
            yield from self._in_order(offer.first_face)
        elif offer.table == "hole":
            hole = next(one for one in part.holes if one.name == finding.holes[0])
            for key, value in offer.figures:
                is_of_all = (
                    value is None and key not in self.document.data["hole"][index_of(hole.key)]
                )
                if is_of_all:
                    yield Edit(file, "defaults", None, "", key, None)
                else:
                    yield Edit(file, "hole", index_of(hole.key), hole.group, key, value)
        else:
            yield from self._of_setup(finding, offer)

    def _of_setup(self, finding: Finding, offer: Offer) -> Iterator[Edit]:
        """Setups that the file does not write are written first, in the order of the plan."""
        from millprep.infiles.cure_edits import index_of

        file, requests = self.document.path, self._requests
        request = requests[(finding.setup or 1) - 1]
        index = index_of(request.key) if request.key else None
        if index is None:
            for one in requests[: finding.setup]:
                if not one.key:
                    yield Edit(file, "setup", None, one.face, "face", f'"{one.face}"')
        for key, value in offer.figures:
            yield Edit(file, "setup", index, request.face, key, value)

    def _in_order(self, first: str) -> Iterator[Edit]:
        """The setup of that face before the others, which stay as they are."""
        file, faces = self.document.path, [request.face for request in self._requests]
        written = [str(one.get("face", "top")) for one in self.document.data.get("setup", [])]
        for face in dict.fromkeys([first, *(() if written else faces)]):
            if face not in written:
                yield Edit(file, "setup", None, face, "face", f'"{face}"')
        if written and written[0] != first:
            index = written.index(first) if first in written else len(written)
            yield Edit(file, "setup", index, first, "", "0")

    @property
    def _requests(self) -> list[SetupRequest]:
        return [one.setup.request for one in self.prepared.plan.setups]


_Key = tuple[str, ...]


def _key(finding: Finding, prepared: Prepared) -> _Key:
    """What is the same finding in another state of the file: of its holes, else of its face up."""
    said = finding.said if isinstance(finding.said, str) else finding.said.template
    faces = {one.setup.number: one.setup.face for one in prepared.plan.setups}
    return (
        finding.kind,
        said,
        finding.about,
        *(finding.holes or (faces.get(finding.setup or 0, ""),)),
    )


def _grades(prepared: Prepared) -> dict[_Key, int]:
    return _worst(prepared.faults, prepared)


def _worst(findings: Iterable[Finding], prepared: Prepared) -> dict[_Key, int]:
    grades: dict[_Key, int] = {}
    for finding in findings:
        key, grade = _key(finding, prepared), SEVERITIES.index(finding.severity)
        grades[key] = min(grade, grades.get(key, grade))
    return grades


def _does(finding: Finding, before: dict[_Key, int], after: Prepared) -> bool:
    """Whether the finding is gone from all its holes, and nothing as bad has come."""
    grade, said = SEVERITIES.index(finding.severity), _key(finding, after)[:3]
    named = {*finding.holes}
    for key, now in _grades(after).items():
        if now > grade:
            continue
        is_same = key[:3] == said and (not named or named.issuperset(key[3:]))
        if is_same or now < before.get(key, len(SEVERITIES)):
            return False
    return True
