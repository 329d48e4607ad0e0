"""The findings of one file that a person wrote: so many are told, the rest are counted."""

from __future__ import annotations

from millprep.base.bounds import MOST_FAULTS
from millprep.base.findings import Finding, MillprepError, has_stop


class Told:
    """What is found in one file, in the order found."""

    def __init__(self, path: str) -> None:
        self.path = path
        self.findings: list[Finding] = []
        self._untold = 0

    def is_only_counted(self) -> bool:
        """Whether one more stop is not told, since enough are; it is counted."""
        is_full = len(self.findings) >= MOST_FAULTS
        self._untold += is_full
        return is_full

    def tell(self, finding: Finding) -> None:
        """One more."""
        if finding.severity != "stop" or not self.is_only_counted():
            self.findings.append(finding)

    def stop_at(
        self, kind: str, line: int | None, message: str, remedy: str = "", hole: str | None = None
    ) -> None:
        """A stop, whose message says itself what it is about."""
        holes = (hole,) if hole else ()
        self.tell(Finding("stop", kind, message, remedy, file=self.path, line=line, holes=holes))

    @property
    def are_stops(self) -> bool:
        return has_stop(self.findings)

    def in_file_order(self) -> tuple[Finding, ...]:
        return tuple(sorted(self.findings, key=lambda finding: finding.line or 0))

    def raise_if_any(self) -> None:
        """Raises MillprepError with every fault so far, in file order, when one is a stop."""
        if not self.are_stops:
            return
        told = self.in_file_order()
        if self._untold:
            message = f"{self._untold} more faults of this file are not told"
            told += (Finding("stop", "many-findings", message, file=self.path),)
        raise MillprepError(*told)
