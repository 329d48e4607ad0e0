"""One hole under comparison, and what is found of it. Imports the part and `reading`."""

from __future__ import annotations

from millprep.base.findings import Finding, Words, words
from millprep.base.records import anew, frozen
from millprep.reading.made import MadeOperation
from millprep.witness.expected import Expected

SAME_WORK = {"pilot drill": "drill", "spotface": "counterbore"}


@frozen
class HoleCase:
    """One hole under comparison: what is wanted, what is left of what was made, findings so far."""

    expected: Expected
    left: list[MadeOperation]
    depth_tolerance_mm: float
    hands: frozenset[str]
    most_breakthrough_mm: float
    file: str | None
    made: tuple[MadeOperation, ...] = ()
    findings: list[Finding] = anew(factory=list)

    @property
    def is_milled(self) -> bool:
        """Whether an end mill has made the whole of it from the solid, or gone round down to its
        floor before any other tool came; a spot drill does not count."""
        made = [one for one in self.made if one.tool_kind != "spot drill"]
        if {one.tool_kind for one in made} == {"end mill"}:
            return True
        if not made:
            return False
        first, floor_mm = made[0], self.depth_tolerance_mm - self.expected.hole.depth_mm
        is_deep = first.full_mm is not None and first.full_mm <= floor_mm
        return first.milling == "circle" and is_deep

    def say(
        self, kind: str, said: str | Words, remedy: str | Words, operation: MadeOperation | None
    ) -> None:
        self.findings.append(
            Finding(
                "stop",
                kind,
                words("{hole}: {said}", hole=self.expected.hole.name, said=said),
                remedy,
                file=(operation.file if operation else None) or self.file,
                line=operation.line if operation else None,
                holes=(self.expected.hole.name,),
            )
        )

    def is_by_hand(self, name: str) -> bool:
        """Whether an operation, or another that does the same work, is left to the hand."""
        names = {name, *(other for other, same in SAME_WORK.items() if same == name)}
        return bool(names & self.hands)
