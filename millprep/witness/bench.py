"""The bench page, and for a while the words of setting up of a listing, by the older records.

Imports the part, the shop's readout and `reading`; never setups, cutting, planning, sheet or
writers.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from millprep.base.findings import Finding, MillprepError
from millprep.base.records import replace
from millprep.model.part import Part
from millprep.model.shop import Dial, Finder, Readout
from millprep.reading.pages import SheetForm, UnreadableSheet, read_listing
from millprep.witness.headings import check_heading
from millprep.witness.listing import check_rows_of, check_setups, check_tools
from millprep.witness.printed import Printed
from millprep.witness.setting import check_setting


def check_bench(
    data: bytes,
    form: SheetForm,
    part: Part,
    readout: Readout,
    *,
    file: str,
    setup_numbers_expected: int | None = None,
    faces: Collection[str] | None = None,
    skews: Mapping[str, float] | None = None,
    dials: Mapping[str, Dial] | None = None,
    finder: Finder | None = None,
) -> list[Finding]:
    """How a finished listing differs from its part; empty when they agree.

    file  : the sheet, as findings name it
    setup_numbers_expected : how many setups the whole plan has, where that is known
    faces : the faces asked for; None for all that have work
    skews : face that is up -> degrees, anticlockwise, by which the part lies askew there
    dials : of the shop, by axis, against which a turn told as lost is held; None to leave that
    finder : of the shop, against which the one of ZERO is held; None to leave that
    """
    try:
        setups = read_listing(data, form)
    except UnreadableSheet as fault:
        return [
            Finding(
                "stop",
                "unreadable-sheet",
                f"the listing cannot be read back: {fault.message}",
                "it is not handed over; please report it",
                file=file,
                line=fault.line,
            )
        ]
    findings = [*check_setups(setups, part, file, setup_numbers_expected, faces)]
    findings += check_tools(setups, file)
    for before, setup in zip((None, *setups), setups, strict=False):
        skew_deg = (skews or {}).get(setup.face, 0.0)
        printed = Printed(setup, part, readout, file, skew_deg, dials or {}, finder)
        try:
            findings += _check_setup(printed)
            findings += check_setting(printed, before)
        except MillprepError as fault:
            findings += [replace(one, file=file, line=setup.line) for one in fault.findings]
    return findings


def _check_setup(printed: Printed) -> Iterator[Finding]:
    yield from check_heading(printed)
    yield from check_rows_of(printed)
