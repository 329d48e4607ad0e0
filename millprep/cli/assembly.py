"""`millprep assembly FILE`: whether parts made to their files go together."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from millprep.cli.common import (
    chosen_format,
    emit,
    exit_status,
    findings_object,
    json_text,
    print_findings,
    with_shop,
)

if TYPE_CHECKING:
    from millprep.assembly import Judged
    from millprep.model.shop import Shop


def run(
    file: Path, shop: str, changes: Sequence[str], data_format: str | None, output: Path | None,
    force: bool,
) -> int:  # fmt: skip
    """Print every joint with its figures; 1 when a finding is a stop.

    changes : figures to be tried; then what they change is printed, and the file is left alone
    """
    from millprep.cli.assembly_report import assembly_json, assembly_text

    wanted = chosen_format(data_format, output, ("text", "json"))
    judged, machine = _judged(file, shop)
    if changes:
        return _changed(judged, machine, changes, wanted, output, force=force)
    print_findings(judged.findings)
    if wanted == "json":
        data = {**assembly_json(judged), **findings_object(judged.findings)}
        emit(json_text(data), output, force=force)
    else:
        emit(assembly_text(judged), output, force=force)
    return exit_status(judged.findings)


def _judged(file: Path, shop_name: str) -> tuple[Judged, Shop]:
    """The assembly judged. Raises MillprepError with the faults of all its files."""
    from millprep.assembly import judge
    from millprep.infiles.assembly_file import read_assembly

    (assembly, notes), shop = with_shop(lambda: read_assembly(file), shop_name)
    return judge(assembly, shop, notes), shop


def _changed(
    before: Judged,
    shop: Shop,
    words: Sequence[str],
    wanted: str,
    output: Path | None,
    *,
    force: bool,
) -> int:
    """What changes with one figure or several; the exit status is that of the changed assembly."""
    from millprep.assembly import judge
    from millprep.assembly.changing import changed
    from millprep.cli.assembly_report import changed_json, changed_text
    from millprep.infiles.assembly_file import read_assembly
    from millprep.infiles.changes import read_change, with_change
    from millprep.infiles.text import Reader, read_document

    path = Path(before.assembly.path)
    files = {member.name: path.parent / member.file for member in before.assembly.members}
    files["assembly"] = path
    read: Reader = read_document
    for each in words:
        read = with_change(read_change(each, files), read)
    after_assembly, notes = read_assembly(path, read)
    after = judge(after_assembly, shop, notes)
    difference = changed(before, after)
    print_findings(difference.new)
    if wanted == "json":
        data = {**changed_json(before, words, difference), **findings_object(after.findings)}
        emit(json_text(data), output, force=force)
    else:
        emit(changed_text(before, words, difference), output, force=force)
    return exit_status(after.findings)
