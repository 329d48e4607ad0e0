"""Several pieces of a part on one table: their places, and whether they can stand there."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from millprep.base.findings import Finding, stopped
from millprep.base.records import frozen, replace
from millprep.base.units import MM_PER_INCH

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.model.scene import Scene
    from millprep.model.shop import Shop
    from millprep.planning import Plan, SetupPlan
    from millprep.proven.preparation import Prepared

Place = tuple[float, float]
_LOADED = re.compile(rb"^[(;] ?(\d{1,3}) PIECES PUT IN ONE AFTER ANOTHER\b", re.MULTILINE)
_HEAD_BYTES = 20_000
_HEAD_DIGIT_MM = 0.05  # two decimals, of an inch too
_PIECE = re.compile(
    rb"^[(;] ?PIECE (\d+) OF (\d+): ITS ZERO AT X(-?[\d.]+) Y(-?[\d.]+) (MM|IN)\)?\r?$",
    re.MULTILINE,
)


def standing_of(
    words: str | None, pieces: int | None, part: Part, setups: Sequence[int], setup: int | None
) -> Standing:
    """The pieces of `--places` or `--pieces`.

    Raises MillprepError for what is no such list, and where nobody says which setup it is of.
    """
    from millprep.infiles.places_file import read_places

    if pieces is not None:
        return _loaded(words, pieces)
    if words is None:
        return Standing()
    if setup is None and len(setups) > 1:
        raise stopped(
            "unknown-word",
            f"--places is of one setup, and this part has {len(setups)}",
            "name the one whose pieces stand there: --setup 1",
            file=part.path or None,
        )
    return Standing(read_places(words, part.units))


def places_told(data: bytes) -> list[Place]:
    """The places that the head of a program names [mm], where it names them all."""
    found = _PIECE.findall(data[:_HEAD_BYTES])
    is_whole = [int(number) for number, *_ in found] == list(range(1, len(found) + 1))
    if not is_whole or any(int(count) != len(found) for _, count, *_ in found):
        return []
    scales = [MM_PER_INCH if unit == b"IN" else 1.0 for *_, unit in found]
    return [
        (float(x) * scale, float(y) * scale)
        for (_, _, x, y, _), scale in zip(found, scales, strict=True)
    ]


@frozen
class Standing:
    """Several pieces: the zero of each from the first's, or how many are put in in turn."""

    places_mm: tuple[Place, ...] = ()
    loaded: int = 0

    @property
    def count(self) -> int:
        return self.loaded or len(self.places_mm)

    def scene(self, part: Part, shop: Shop, one: SetupPlan) -> tuple[Scene, tuple[Place, ...]]:
        """What stands on the table, and where each piece is taken to stand. one : of one piece"""
        from millprep.planning.table import places_apart, table_scene

        places = self.places_mm
        if self.loaded:
            places = places_apart(table_scene(part, shop, one, ()), self.loaded)
        return table_scene(part, shop, one, places), places

    def plan(self, one: SetupPlan) -> SetupPlan:
        """The setup's plan for all pieces."""
        from millprep.planning.table import loaded_in_turn, on_one_table

        if self.loaded:
            return loaded_in_turn(one, self.loaded)
        return on_one_table(one, self.places_mm) if self.places_mm else one


def standing_for(
    words: str | None, pieces: int | None, programs: Sequence[tuple[str, bytes]], part: Part
) -> tuple[Standing, list[Finding]]:
    """The pieces of programs that are run: as given, else as the first one says."""
    from millprep.infiles.places_file import read_places

    if pieces is not None:
        return _loaded(words, pieces), []
    if words is not None:
        return Standing(read_places(words, part.units)), []
    file, data = programs[0]
    told = Standing(tuple(places_told(data)), loaded_told(data))
    how, remedy = "where the program says that they stand", "give --places where they do not"
    if told.loaded:
        how, remedy = "put in one after another, shown side by side", "give --pieces for others"
    message = f"{told.count} pieces of the part, {how}"
    return told, [Finding("note", "taken-as", message, remedy, file)] if told.count else []


def _loaded(words: str | None, pieces: int) -> Standing:
    """Raises MillprepError or WordError."""
    from millprep.proven.sheets import pieces_asked

    if words is not None:
        message = "--pieces and --places: pieces stand side by side, or are put in in turn"
        raise stopped("contradiction", message, "give one of them: places count the pieces")
    return Standing(loaded=pieces if pieces_asked(pieces) > 1 else 0)


def loaded_told(data: bytes) -> int:
    """How many pieces the head of a program says are put in one after another; 0 for none."""
    found = _LOADED.search(data[:_HEAD_BYTES])
    return 0 if found is None else int(found[1])


def head_faults(data: bytes, places: Sequence[Place], file: str) -> list[Finding]:
    """The head of a program that says of a piece that it stands elsewhere."""
    return [
        Finding(
            "stop",
            "contradiction",
            f"the head has piece {number} at X{told[0]:.3f} Y{told[1]:.3f}; it stands at "
            f"X{right[0]:.3f} Y{right[1]:.3f} mm",
            "the program does not agree with the places given; please report it",
            file,
        )
        for number, (told, right) in enumerate(zip(places_told(data), places, strict=False), 1)
        if max(abs(a - b) for a, b in zip(told, right, strict=True)) > _HEAD_DIGIT_MM
    ]


def in_turn(prepared: Prepared, pieces: int, *, is_partial: bool) -> Prepared:
    """The plan for pieces that are put in one after another.

    Raises MillprepError for what no such program does.
    """
    from millprep.planning.programs import head_moves
    from millprep.planning.table import batched

    plan = batched(prepared.plan, pieces)
    moves = any(head_moves(plan, one) for one in plan.setups)
    if is_partial or moves:
        what = "the head moves" if moves else "a proving run or part of a program"
        message = f"--pieces: {what}, and pieces are put in one after another"
        raise stopped("contradiction", message, "write it for one piece, and run it for each")
    return replace(prepared, plan=plan)


def place_faults(plan: Plan, on_table: SetupPlan, scene: Scene) -> list[Finding]:
    """Why the pieces cannot stand there, or not all be reached.

    on_table : of all of them; scene : what stands on the table then
    """
    from millprep.planning.program_travel import beyond_travel
    from millprep.planning.programs import approach_mm
    from millprep.planning.table import in_each_other

    file, number = plan.part.path or None, on_table.setup.number
    remedy = "measure again from the first piece's zero to theirs, or clamp them further apart"
    found = [
        Finding("stop", "pieces-too-near", what, remedy, file, setup=number)
        for what in in_each_other(scene, len(on_table.places_mm))
    ]
    if (beyond := beyond_travel(plan, on_table, approach_mm(plan))) is not None:
        found.append(Finding("stop", "outside-travel", *beyond, file, setup=number))
    return found
