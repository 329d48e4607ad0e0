"""[[setup]] tables to setup requests. Imports layers 0 to 2."""

from __future__ import annotations

from typing import Any

from millprep.base.units import Units
from millprep.infiles.faults import Faults
from millprep.infiles.part_schema import ObstacleTable, SetupTable
from millprep.infiles.points import AXIS_LETTERS, VIEW
from millprep.infiles.positions import Path
from millprep.model.part import AXIS_FACES, FACE_AXIS, Face, ObstacleRequest, SetupRequest

_HOLDING_KEYS = ("vice", "parallels", "backing", "safe_height")


def read_setups(faults: Faults, raw: list[Any], units: Units) -> tuple[SetupRequest, ...]:
    """The setups as the file lists them; contradictions are noted."""
    requests: list[SetupRequest] = []
    number_of: dict[Face, int] = {}
    for index, data in enumerate(raw):
        path: Path = ("setup", index)
        table = faults.validated(SetupTable, data, path, {"units": units})
        if table is None:
            continue
        if table.face in number_of:
            faults.add(
                "contradiction",
                (*path, "face"),
                f"{table.face} is up in setup {number_of[table.face]} already",
                "give each face one setup",
            )
        number_of.setdefault(table.face, index + 1)
        _refuse_impossible_lay(faults, path, table)
        requests.append(_request(faults, path, table))
    return tuple(requests)


def _refuse_impossible_lay(faults: Faults, path: Path, table: SetupTable) -> None:
    """The face towards you stands upright, and each zero stands across its readout axis."""
    up_axis = FACE_AXIS[table.face]
    near = table.towards_you
    if near is not None and FACE_AXIS[near] == up_axis:
        upright = [face for pair in AXIS_FACES for face in pair if FACE_AXIS[face] != up_axis]
        faults.add(
            "contradiction",
            (*path, "towards_you"),
            f"{near} cannot be towards you while {table.face} is up",
            f"give one of {', '.join(upright)}",
        )
        return
    y_axis = FACE_AXIS[near] if near is not None else VIEW[table.face][1][0]
    for letter, axis in (("x", 3 - up_axis - y_axis), ("y", y_axis)):
        zero = table.zero.x if letter == "x" else table.zero.y
        if zero is not None and zero != "centre" and FACE_AXIS[zero] != axis:
            low, high = AXIS_FACES[axis]
            faults.add(
                "contradiction",
                (*path, "zero"),
                f"zero {letter} is on {zero}, and {letter.upper()} runs along the part's "
                f"{AXIS_LETTERS[axis]} in this setup",
                f'give {letter} = "{low}", "{high}" or "centre"',
            )


def _request(faults: Faults, path: Path, table: SetupTable) -> SetupRequest:
    obstacles = [
        _obstacle(faults, (*path, "obstacle", index), each)
        for index, each in enumerate(table.obstacle)
    ]
    parallels = table.parallels
    return SetupRequest(
        face=table.face,
        towards_you=table.towards_you,
        zero_x=table.zero.x,
        zero_y=table.zero.y,
        work_offset=table.work_offset,
        grip_mm=table.vice.grip,
        jaws=table.vice.jaws,
        parallel_thickness_mm=parallels.thickness if parallels is not None else None,
        parallel_height_mm=parallels.height if parallels is not None else None,
        parallels_at_mm=tuple(parallels.at) if parallels is not None else (),
        backing_mm=table.backing,
        safe_height_mm=table.safe_height,
        obstacles=tuple(obstacles),
        key=f"setup[{int(path[1]) + 1}]",
        line=faults.document.positions.line(path),
        lines=faults.document.positions.lines_of(path, _HOLDING_KEYS),
    )


def _obstacle(faults: Faults, path: Path, table: ObstacleTable) -> ObstacleRequest:
    pairs = [(min(a, b), max(a, b)) for a, b in zip(table.from_, table.to, strict=True)]
    if any(low == high for low, high in pairs):
        faults.add(
            "bad-value",
            path,
            f'obstacle "{table.name}" has no size along one axis',
            "give two opposite corners, from and to",
        )
    (x0, x1), (y0, y1), (z0, z1) = pairs
    line = faults.document.positions.line(path)
    return ObstacleRequest(table.name, (x0, y0, z0), (x1, y1, z1), line)
