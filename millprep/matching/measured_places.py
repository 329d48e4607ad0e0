"""Measured holes and the setup they were read in: readings as places in setup axes.

Imports layers 0 to 2 and `setups`.
"""

from __future__ import annotations

from collections.abc import Collection

from millprep.base.findings import Finding, MillprepError, stopped
from millprep.base.plain_text import some
from millprep.model.measured import Measured
from millprep.model.part import OPPOSITE, Hole, Part
from millprep.setting.setups import Setup, setups_of

Place = tuple[float, float]


def can_be_read_in(hole: Hole, setup: Setup) -> bool:
    """Whether the hole has an end on the face that is up."""
    if setup.face in hole.worked_from:
        return True
    return hole.is_through and setup.face == OPPOSITE[hole.face]


def is_made_in(hole: Hole, setup: Setup) -> bool:
    """Whether it is worked in this setup, from its own face."""
    return setup.face == hole.face and setup.works(hole)


def as_read(place: Place, reversed_axes: Collection[str]) -> Place:
    """Setup axes to what the readout shows, or back: an axis that counts the other way."""
    x, y = place
    return 0.0 + (-x if "x" in reversed_axes else x), 0.0 + (-y if "y" in reversed_axes else y)


def nominal_readings(
    part: Part, reversed_axes: Collection[str] = (), number: int | None = None
) -> dict[str, Place]:
    """What the readout shows over each hole as drawn [mm], in the setup of its own face.

    number : of a setup: then the holes that can be read in it, all in that setup
    """
    readings: dict[str, Place] = {}
    for setup in setups_of(part):
        for hole in part.holes:
            is_here = is_made_in(hole, setup) if number is None else can_be_read_in(hole, setup)
            if is_here and number in (None, setup.number):
                readings[hole.name] = as_read(setup.place_of(hole), reversed_axes)
    return readings


def readings_of_setups(
    part: Part, reversed_axes: Collection[str] = ()
) -> dict[int, dict[str, Place]]:
    """What the readout shows in each setup over each hole that can be read in it [mm]."""
    numbers = [setup.number for setup in setups_of(part)]
    return {number: nominal_readings(part, reversed_axes, number) for number in numbers}


def setup_measured(part: Part, measured: Measured, number: int | None) -> Setup:
    """The setup that the measured holes were read in: that of their face, or the one asked for.

    Raises MillprepError where they lie in several faces and nobody says which is meant.
    """
    setups = setups_of(part)
    said = {one.setup for one in measured.holes}
    if number is None and len(said) == 1:
        (number,) = said
    by_name = {hole.name: hole for hole in part.holes}
    holes = [by_name[one.hole] for one in measured.holes]
    if number is not None:
        setup = next((one for one in setups if one.number == number), None)
        if setup is None:
            there = f"setups 1 to {len(setups)}" if len(setups) > 1 else "one setup"
            raise stopped("unknown-word", f"there is no setup {number}", f"this part has {there}")
        if not any(can_be_read_in(hole, setup) for hole in holes):
            raise stopped(
                "contradiction",
                f"none of the holes can be read in setup {number}, {setup.face.upper()} up",
                f"they lie in {_faces(setups, holes)}",
                measured.path,
            )
        return setup
    read_in = {one.hole: one.setup for one in measured.holes}
    own = [
        one
        for one in setups
        if any(is_made_in(hole, one) for hole in holes if read_in[hole.name] is None)
        or one.number in said
    ]
    if len(own) == 1:
        return own[0]
    raise stopped(
        "contradiction",
        f"the holes lie in {len(own)} faces, and readings count from one zero: "
        f"{_faces(setups, holes)}",
        "measure and match one face at a time, or name the setup: "
        + " or ".join(f"--setup {one.number}" for one in own),
        measured.path,
    )


def _faces(setups: tuple[Setup, ...], holes: list[Hole]) -> str:
    """Each face with its setup and the holes in it."""
    words = []
    for setup in setups:
        names = [hole.name for hole in holes if is_made_in(hole, setup)]
        if names:
            words.append(f"{setup.face.upper()} (setup {setup.number}: {some(names)})")
    return ", ".join(words)


def placed_holes(
    part: Part, measured: Measured, setup: Setup, reversed_axes: Collection[str]
) -> tuple[dict[str, Place], list[Finding]]:
    """Places in setup axes [mm] of the holes measured in a setup, and a note of those left out.

    Raises MillprepError where a hole has one of its two readings, or none has both.
    """
    by_name = {hole.name: hole for hole in part.holes}
    here = [
        one
        for one in measured.holes
        if can_be_read_in(by_name[one.hole], setup) and one.setup in (None, setup.number)
    ]
    faults = [
        Finding(
            "stop",
            "missing-key",
            f"{one.hole}: {'x' if one.x_mm is None else 'y'} is not given",
            "give both readings, or leave both empty for a hole that is not measured",
            file=measured.path,
            line=one.line,
            holes=(one.hole,),
        )
        for one in here
        if (one.x_mm is None) != (one.y_mm is None)
    ]
    places = {
        one.hole: as_read((one.x_mm, one.y_mm), reversed_axes)
        for one in here
        if one.x_mm is not None and one.y_mm is not None
    }
    if not places and not faults:
        message = "no hole has its place: x and y are empty in every line"
        remedy = "fill in the readings over the holes that are drilled"
        raise stopped("missing-key", message, remedy, measured.path)
    if faults:
        raise MillprepError(*faults)
    others = [one.hole for one in measured.holes if one not in here]
    return places, [_left_out(measured, setup, others)] if others else []


def _left_out(measured: Measured, setup: Setup, names: list[str]) -> Finding:
    number, remedy = setup.number, "match their face by itself"
    message = f"not of setup {number}, {setup.face.upper()} up, and left out: {some(names)}"
    file, holes = measured.path, tuple(names)
    return Finding("note", "hole-left-out", message, remedy, file, holes=holes, setup=number)
