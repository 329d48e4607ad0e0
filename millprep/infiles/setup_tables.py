"""[[setup]] tables to setup requests."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from millprep.base.findings import WordError
from millprep.base.records import replace
from millprep.base.units import shown
from millprep.infiles.drafts import Bench
from millprep.infiles.faults import Faults
from millprep.infiles.part_schema import ObstacleTable, SetupTable
from millprep.infiles.points import AXIS_LETTERS, VIEW
from millprep.infiles.positions import Path
from millprep.infiles.wording import key_words
from millprep.model.part import AXIS_FACES, FACE_AXIS, Face, Hole, ObstacleRequest, SetupRequest

_HOLDING_KEYS = ("hold", "vice", "straps", "packing", "parallels", "backing", "safe_height")
_OF_THE_VICE = ("vice", "parallels")
_OF_STRAPS = ("straps", "packing")


def read_setups(faults: Faults) -> tuple[SetupRequest, ...]:
    """The setups as the file lists them; contradictions are noted."""
    requests: list[SetupRequest] = []
    number_of: dict[Face, int] = {}  # of the setup that makes all that others leave
    for index, path, table in faults.all_validated("setup", SetupTable):
        if not table.holes and table.face in number_of:
            faults.add(
                "contradiction",
                (*path, "face"),
                f"{table.face} is up in setup {number_of[table.face]} already, and nothing says "
                "which of its holes are left for this one",
                "leave one of them out, or name what is made in one: holes = [...]",
            )
        if not table.holes:
            number_of.setdefault(table.face, index + 1)
        with faults.noting((*path, "towards_you")):
            _refuse_lying(table)
            _refuse_impossible_zeros(faults, path, table)
        requests.append(setup_request(faults, path, table))
    return tuple(requests)


def with_visits(
    bench: Bench, requests: Sequence[SetupRequest], holes: Sequence[Hole]
) -> tuple[SetupRequest, ...]:
    """The setups with the holes that they name: each is worked from that face, in one of them."""
    made: dict[tuple[str, Face], int] = {}
    named = []
    for index, request in enumerate(requests):
        here: list[str] = []
        for name in request.holes:
            with bench.faults.noting(("setup", index, "holes")):
                here += _visited(bench, name, request.face, holes, made)
        made |= {(name, request.face): index + 1 for name in here}
        named.append(replace(request, holes=tuple(here)))
    return tuple(named)


def _visited(
    bench: Bench, name: str, face: Face, holes: Sequence[Hole], made: Mapping[tuple[str, Face], int]
) -> list[str]:
    """The holes of that name, or of that pattern. Raises WordError where they are not to be had."""
    found, number = bench.names.find(name)
    wanted = {hole for hole, member, _ in found.members if number in (None, member)}
    if found.members and not wanted:
        raise WordError(f"{shown(name)} is not one of them", "name a member that is there")
    meant = [hole for hole in holes if hole.name in wanted]
    here = [hole.name for hole in meant if face in hole.worked_from]
    if meant and not here:
        raise WordError(
            f"{shown(name)} is worked from {meant[0].face}, and {face} is up in this setup",
            f'name it in a [[setup]] with face = "{meant[0].face}"',
        )
    again = next((hole for hole in here if (hole, face) in made), None)
    if again is not None:
        raise WordError(
            f"{shown(again)} is made in setup {made[again, face]} already", "name it in one of them"
        )
    return here


def _refuse_lying(table: SetupTable) -> None:
    """The face towards you stands upright."""
    near, up_axis = table.towards_you, FACE_AXIS[table.face]
    if near is not None and FACE_AXIS[near] == up_axis:
        upright = [face for pair in AXIS_FACES for face in pair if FACE_AXIS[face] != up_axis]
        raise WordError(
            f"{near} cannot be towards you while {table.face} is up",
            f"give one of {', '.join(upright)}",
        )


def _refuse_impossible_zeros(faults: Faults, path: Path, table: SetupTable) -> None:
    """Each zero stands across its readout axis."""
    near, up_axis = table.towards_you, FACE_AXIS[table.face]
    y_axis = FACE_AXIS[near] if near is not None else VIEW[table.face][1][0]
    for letter, zero, axis in (
        ("x", table.zero.x, 3 - up_axis - y_axis),
        ("y", table.zero.y, y_axis),
    ):
        if zero is not None and zero != "centre" and FACE_AXIS[zero] != axis:
            low, high = AXIS_FACES[axis]
            faults.add(
                "contradiction",
                (*path, "zero"),
                f"zero {letter} is on {zero}, and {letter.upper()} runs along the part's "
                f"{AXIS_LETTERS[axis]} in this setup",
                f'give {letter} = "{low}", "{high}" or "centre"',
            )


def _refuse_other_holding(faults: Faults, path: Path, table: SetupTable) -> None:
    """Jaws and parallels are the vice's, straps and packing those of a part on the table."""
    is_in_vice = table.hold in (None, "vice", "vee jaws")
    for key in table.given(*(() if is_in_vice else _OF_THE_VICE)):
        message = f'{key} belongs to the vice, and this setup has hold = "{table.hold}"'
        faults.add("contradiction", (*path, key), message, f'leave {key} out, or hold = "vice"')
    kept = {"straps": (), "angle plate": ("straps",)}.get(table.hold or "", _OF_STRAPS)
    for key in table.given(*kept):
        told = "nothing" if table.hold is None else f'hold = "{table.hold}"'
        message = f"{key} belongs to a part held by straps, and this setup has {told}"
        faults.add("contradiction", (*path, key), message, 'write hold = "straps" beside it')


def setup_request(faults: Faults, path: Path, table: SetupTable) -> SetupRequest:
    """What one table says, whichever face is up; holding that contradicts itself is noted."""
    _refuse_other_holding(faults, path, table)
    obstacles = [
        _obstacle(faults, (*path, "obstacle", index), each)
        for index, each in enumerate(table.obstacle)
    ]
    parallels = table.parallels
    return SetupRequest(
        **table.fields_of(SetupRequest),
        **table.zero.fields_of(SetupRequest, "zero_"),
        **table.vice.fields_of(SetupRequest),
        **(parallels.fields_of(SetupRequest, "parallel_") if parallels is not None else {}),
        straps_at_mm=tuple(strap.at for strap in table.straps),
        parallels_at_mm=parallels.at if parallels is not None else (),
        obstacles=tuple(obstacles),
        key=key_words(path),
        line=faults.line(path),
        lines=faults.document.positions.lines_of(path, _HOLDING_KEYS),
    )


def _obstacle(faults: Faults, path: Path, table: ObstacleTable) -> ObstacleRequest:
    pairs = [(min(a, b), max(a, b)) for a, b in zip(table.from_, table.to, strict=True)]
    if any(low == high for low, high in pairs):
        message = f'obstacle "{table.name}" has no size along one axis'
        faults.add("bad-value", path, message, "give two opposite corners, from and to")
    (x0, x1), (y0, y1), (z0, z1) = pairs
    return ObstacleRequest(table.name, (x0, y0, z0), (x1, y1, z1), faults.line(path))
