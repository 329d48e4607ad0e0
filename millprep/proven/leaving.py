"""Assembly files asked what a part's own sheets leave for later."""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from millprep.base.findings import Finding, MillprepError
from millprep.base.plain_text import counted, some
from millprep.base.records import replace

if TYPE_CHECKING:
    from millprep.model.assembled import Assembly
    from millprep.model.carrying import Left
    from millprep.model.part import Part

NONE = "none"
"""As `--assembly`: no assembly file is asked."""
MOST_LOOKED_AT = 200
LARGEST_ASKED_BYTES = 1_000_000
_IS_ASSEMBLY = re.compile(rb"^[ \t]*assembly[ \t]*=", re.M)

Leaves = dict[str, list["Left"]]
"""What is said of each hole, by its name."""


def with_left(part: Part, assembly: Path | str | None) -> tuple[Part, list[Finding]]:
    """The part with what assemblies leave of it for later; and which were asked.

    assembly : that file, "none", or None for the files beside the part that name it
    Raises MillprepError where a file that was named cannot be read, or does not have the part.
    """
    if assembly is not None:
        named = str(assembly)
        return (part, []) if named == NONE else _asked(part, [Path(named)], is_named=True)
    return _asked(part, _beside(part), is_named=False)


def pieces_named(part: Path | str, assembly: str | None) -> int | None:
    """How many of a part an assembly that was named wants: its members, times the quantity.

    None where none was named, or where it does not say so. Raises MillprepError.
    """
    if assembly in (None, NONE):
        return None
    own, whole = Path(part).resolve(), _read(Path(str(assembly)))
    folder = Path(str(assembly)).parent
    count = sum((folder / member.file).resolve() == own for member in whole.members)
    return count * whole.quantity or None


def _beside(part: Part) -> list[Path]:
    """The assembly files in the part's folder that mention it, by a look at their bytes."""
    path = Path(part.path)
    name = os.fsencode(path.name)
    try:
        files = sorted(one for one in path.parent.iterdir() if one.suffix == ".toml")
        return [
            one
            for one in files[:MOST_LOOKED_AT]
            if one.name != path.name
            and one.stat().st_size <= LARGEST_ASKED_BYTES
            and name in (data := one.read_bytes())
            and _IS_ASSEMBLY.search(data)
        ]
    except OSError:
        return []


def _asked(part: Part, files: Sequence[Path], *, is_named: bool) -> tuple[Part, list[Finding]]:
    said: Leaves = {}
    asked: list[str] = []
    notes: list[Finding] = []
    for file in files:
        try:
            members = _members_of(part, file)
            if members is None:
                continue
            asked.append(str(file))
            for one in members:
                said.setdefault(one.hole, []).append(one)
        except MillprepError as error:
            if is_named:
                raise
            notes.append(_unread(part, file, error))
    if is_named and not asked:
        message = f"{files[0]} does not name {Path(part.path).name} among its members"
        remedy = "name the assembly that has it, or --assembly none"
        raise MillprepError(Finding("stop", "unknown-word", message, remedy, part.path or None))
    left = tuple(_least(said[hole.name]) for hole in part.holes if hole.name in said)
    if left:
        notes.append(_told(part, asked, left))
    notes += [found for hole in said.values() for found in _differing(part, hole)]
    return replace(part, left=left), list(dict.fromkeys(notes))


def _members_of(part: Part, file: Path) -> list[Left] | None:
    """What the assembly leaves of the part, of each member that it is; None where it is none."""
    from millprep.infiles.text import read_document

    document = read_document(file)
    tables = document.data.get("members")
    if not isinstance(tables, dict):
        return None
    own = Path(part.path).resolve()
    files = {
        name: one.get("part") if isinstance(one, dict) else one for name, one in tables.items()
    }
    members = [
        name
        for name, other in files.items()
        if isinstance(other, str) and (file.parent / other).resolve() == own
    ]
    if not members:
        return None
    joints = document.data.get("joint")
    joints = joints if isinstance(joints, list) else []
    is_carrying = any(isinstance(one, dict) and "carried" in one for one in joints)
    if not is_carrying and "reamed_together" not in document.data:
        return []
    return _left_of(_read(file), [" ".join(name.split()) for name in members])


def _read(file: Path) -> Assembly:
    from millprep.infiles.assembly_file import read_assembly

    return read_assembly(file)[0]


def _left_of(assembly: Assembly, members: Sequence[str]) -> list[Left]:
    from millprep.assembly.leaving import left_by

    return [one for name in members for one in left_by(assembly, name)]


def _least(said: Sequence[Left]) -> Left:
    """Where assemblies differ the hole is left undrilled."""
    first = said[0]
    return replace(first, made="undrilled", pilot_mm=None) if _differ(said) else first


def _differ(said: Sequence[Left]) -> bool:
    return len({(one.made, one.pilot_mm, bool(one.stack)) for one in said}) > 1


def _told(part: Part, files: Sequence[str], left: Sequence[Left]) -> Finding:
    """One line says which were asked."""
    names = [Path(file).name for file in files]
    holes = f"{counted(len(left), 'hole')} of this part"
    leave = "leaves" if len(names) == 1 else "leave"
    return Finding(
        "note",
        "left-for-later",
        f"{' and '.join(names)} {leave} {holes} for later",
        "--assembly none makes all of it",
        part.path or None,
    )


def _differing(part: Part, said: Sequence[Left]) -> list[Finding]:
    if not _differ(said):
        return []
    told = dict.fromkeys(f"{Path(one.file).name} has it {_words(one)}" for one in said)
    return [
        Finding(
            "warning",
            "assemblies-differ",
            f"hole {said[0].hole}: {some(tuple(told), 4)}: it is left undrilled",
            "mend one of them, or name the one that counts: --assembly FILE",
            part.path or None,
            holes=(said[0].hole,),
        )
    ]


def _words(left: Left) -> str:
    made = f"left with a {left.pilot_mm:g} mm pilot" if left.pilot_mm else left.made
    return f"{made}, {left.later}"


def _unread(part: Part, file: Path, error: MillprepError) -> Finding:
    """An assembly that cannot be read is no end of a part's sheet."""
    first = next(one for one in error.findings if one.severity == "stop")
    place = f", line {first.line}" if first.line else ""
    return Finding(
        "warning",
        "unreadable-file",
        f"{file.name} names this part and cannot be read ({Path(first.file or '').name}{place}: "
        f"{first.message}): every hole is made whole",
        f"millprep assembly {file} says all that is wrong with it; or --assembly none",
        part.path or None,
    )
