"""What every sheet and program begins with: read, move to fit what is drilled, plan, check."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from millprep.base.findings import (
    Finding,
    MillprepError,
    WordError,
    chosen_word,
    stopped,
    worst_first,
)
from millprep.base.records import anew, frozen, replace
from millprep.base.units import Length, Units, read_length
from millprep.infiles.file_bytes import as_if_written, texts_given
from millprep.proven.files import load
from millprep.proven.handed import lay_of

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.model.shop import Shop
    from millprep.planning import Plan
    from millprep.setting.skew import Skew


@frozen
class Prepared:
    """A part planned and checked; findings worst first.

    part  : as its own sheets make it; whole : as it will be, with what is left for later
    asked : the part that sheets are held against, which the witness makes of the whole itself
    faults : what the checks found, each of its own holes; said : what files had to say beside
    again : the same of its file with another text; None where it was read from no file
    texts : of files that were read otherwise than they stand on the disk
    """

    part: Part
    shop: Shop
    plan: Plan
    findings: tuple[Finding, ...]
    whole: Plan
    asked: Part
    faults: tuple[Finding, ...] = ()
    said: tuple[Finding, ...] = ()
    again: Callable[[bytes], Prepared] | None = None
    texts: Mapping[Path, bytes] = anew(factory=dict, compare=False)

    @property
    def setup_numbers(self) -> tuple[int, ...]:
        return tuple(setup_plan.setup.number for setup_plan in self.plan.setups)


@frozen
class Askew:
    """What was touched on a part that is askew, as given on the command line.

    points : two places of the finder, in units, or the part's own where none are given
    edge   : the face touched, or none given
    """

    points: str
    edge: str | None = None
    setup: int | None = None
    units: Units | None = None


def prepare(
    part: Part | Path | str,
    shop: Shop | Path | str = "metric",
    order: str = "tool",
    given: Askew | None = None,
    *,
    cures: bool = True,
    assembly: Path | str | None = None,
    only: str | None = None,
    fitted: ToFit | None = None,
) -> Prepared:
    """The part planned and checked; with what was touched, for a part that is askew.

    order : "tool", "hole", "row"; "machine" and "dials", by tool, for a program and a dial sheet
    cures : whether the nearest change that cures a fault is looked for, which takes the longest
    assembly : that is asked what is left for later; None for those beside the part that name it
    fitted : readings of drilled holes, that the rest is moved to fit
    only  : the one hole that is wanted: where it is carried over, it is made from there on
    Raises MillprepError for what cannot be judged.
    """
    from millprep.checks import run_checks, told_once
    from millprep.planning import DIAL_ORDER, MACHINE_ORDER, ORDERS, make_plan
    from millprep.planning.leaving import part_for_now
    from millprep.witness.left import as_left

    if order not in (DIAL_ORDER, MACHINE_ORDER):
        chosen_word("--order", order, ORDERS)
    file, texts = (Path(part) if isinstance(part, Path | str) else None), texts_given()
    whole, shop, notes = load(part, shop, assembly, says_all=True)
    whole, held, found_there = moved(whole, shop, fitted)
    is_carried = _is_carried_over(whole, only)
    part = part_for_now(whole, finishing=is_carried)
    skew, doubts = (None, []) if given is None else measured_skew(part, shop, given)
    if skew is not None and skew.angle_deg and order == "row":
        raise _no_rows(part)
    plan = make_plan(part, shop, order, skew)
    finished = plan if part is whole else make_plan(whole, shop, order)
    faults = run_checks(plan, finished)
    asked = as_left(held, is_carried_over=is_carried)
    said = (*notes, *found_there, *doubts)
    findings = tuple(worst_first([*told_once(whole, faults), *said]))
    ways = {"shop": shop, "order": order, "given": given, "assembly": assembly, "only": only}
    ways |= {"fitted": fitted}
    again = None if file is None else partial(_with_text, file, texts, ways)
    made = Prepared(part, shop, plan, findings, finished, asked, tuple(faults), said, again, texts)
    if not cures:
        return made
    from millprep.proven.curing import cures_of

    return replace(made, findings=tuple(worst_first([*cures_of(made), *said])))


def _with_text(
    file: Path, texts: Mapping[Path, bytes], ways: Mapping[str, Any], text: bytes
) -> Prepared:
    """The same of a file as if this text stood in it."""
    with as_if_written({**texts, file: text}):
        return prepare(file, cures=False, **ways)


def _no_rows(part: Part) -> MillprepError:
    return stopped(
        "bad-skew",
        "--order row with --skew: on a part that is askew no row runs along an axis",
        "leave --order row out, or square the part",
        file=part.path or None,
    )


def _is_carried_over(part: Part, only: str | None) -> bool:
    """Whether the one hole wanted is carried over from a mate. Raises MillprepError where a stack
    finishes it, or where it is drilled."""
    word = "" if only is None else " ".join(only.split()).casefold()
    names = {h.name for h in part.holes if word in (h.name.casefold(), h.group.casefold())}
    if names and part.as_measured is not None and names <= {*part.as_measured.drilled}:
        raise stopped(
            "unknown-word",
            f"{only} is taken as drilled: {part.as_measured.file} names it",
            "leave --as-measured out for its steps",
            file=part.path or None,
        )
    left = [one for one in part.left if one.hole in names]
    finished = next((one for one in left if one.stack), None)
    if finished is not None:
        raise stopped(
            "unknown-word",
            f"{finished.hole} is {finished.later}",
            f'its sheet: millprep listing {finished.file} --stack "{finished.stack}"',
            file=part.path or None,
        )
    return bool(left)


def measured_skew(part: Part, shop: Shop, given: Askew) -> tuple[Skew, list[Finding]]:
    """How far the part of one setup is turned, and whether its zero fits what was touched.

    Raises MillprepError for what was touched amiss.
    """
    from millprep.setting.setups import setups_of
    from millprep.setting.skew import NEAR_EDGE_MM, misses_edge_mm, read_edge, read_points, skew_of

    setups = setups_of(part)
    number = wanted_setup(given.setup, [setup.number for setup in setups])
    if number is None and len(setups) > 1:
        raise stopped(
            "bad-skew",
            f"a skew is of one setup, and this part has {len(setups)}",
            "name the one that was touched: --setup 1",
            file=part.path or None,
        )
    setup = setups[(number or 1) - 1]
    edge = read_edge(given.edge if given.edge is not None else setup.towards_you, setup)
    first, second = read_points(given.points, given.units or part.units)
    reversed_axes = shop.readout.reversed_axes
    skew = skew_of(setup, edge, first, second, reversed_axes)
    miss = misses_edge_mm(setup, skew, edge, first, shop.finder.diameter_mm, reversed_axes)
    if abs(miss) <= NEAR_EDGE_MM:
        return skew, []
    message = (
        f"setup {setup.number}: the finder met {edge.upper()} {Length(abs(miss), part.units):3} "
        "from where zero and the finder's "
        f"{Length(shop.finder.diameter_mm, part.units):exact} put it"
    )
    remedy = "touch for zero close to the corner, and measure the part across"
    return skew, [
        Finding(
            "warning", "skew-beside-zero", message, remedy, part.path or None, setup=setup.number
        )
    ]


def refuse_not_to_be_had(prepared: Prepared, sheet: str) -> None:
    """Raises MillprepError with what `check` notes of a sheet that this shop cannot have."""
    told = [replace(f, severity="stop") for f in prepared.findings if sheet in f.sheets]
    if told:
        raise MillprepError(*told)


def nothing_to_show(part: Part) -> list[Finding]:
    """A stop for a part without holes: no sheet of it has anything on it."""
    if part.holes:
        return []
    if part.as_measured is not None and part.as_measured.drilled:
        what = f"nothing is made of it now: {part.as_measured.file} has its holes as drilled"
        remedy = "leave --as-measured out for the sheet of all of them"
        return [Finding("stop", "moved-to-fit", what, remedy, part.path or None)]
    if part.left:
        what = f"nothing is made of it now: its holes are {part.left[0].later}"
        remedy = f"millprep assembly {part.left[0].file} has what it waits for"
        return [Finding("stop", "left-for-later", what, remedy, part.path or None)]
    what = "the part has no holes: there is nothing to put on a sheet"
    return [Finding("stop", "missing-key", what, "add a [[hole]]", part.path or None)]


def wanted_setup(given: int | None, numbers: Sequence[int]) -> int | None:
    """The setup asked for, or a stopped that names those there are."""
    if given is None or given in numbers:
        return given
    there = f"setups 1 to {len(numbers)}" if len(numbers) > 1 else "one setup"
    raise stopped("unknown-word", f"there is no setup {given}", f"this part has {there}")


def length_mm(option: str, words: str | None, units: Units) -> float | None:
    """A length given with an option [mm]. Raises WordError for what is none."""
    if words is None:
        return None
    try:
        return float(read_length(words, units))
    except WordError as error:
        raise WordError(f"{option}: {error.message}", error.remedy) from None


def numbered_path(
    file: Path,
    setup: int | None,
    tool: int | None = None,
    place: int | None = None,
    sheet: int | None = None,
) -> Path:
    """NAME.nc, NAME-setup1.nc or NAME-setup1-tool01.nc: sorting by name is running order.

    place : in that order, where the numbers of the tools do not tell it: NAME-setup1-06-tool01.nc
    sheet : of a drawing of several sheets: NAME-setup1-sheet2.svg
    """
    name = file.stem
    if setup is not None:
        name += f"-setup{setup}"
    if place is not None:
        name += f"-{place:02d}"
    if tool is not None:
        name += f"-tool{tool:02d}"
    if sheet is not None:
        name += f"-sheet{sheet}"
    return file.with_name(name + file.suffix)


@frozen
class ToFit:
    """Readings that the rest of a part is moved to fit.

    most : by how much holes may be moved, in words, where a person has said it
    setup : of a file with holes of several faces
    """

    file: Path
    most: str | None = None
    setup: int | None = None

    @property
    def words(self) -> str:
        """As options of a command, each with a blank before it."""
        most = "" if self.most is None else f' --most-move "{self.most}"'
        return f" --as-measured {self.file}{most}"


def moved(part: Part, shop: Shop, asked: ToFit | None) -> tuple[Part, Part, list[Finding]]:
    """The part with its holes moved, the same as the witness moves them, and what was found.

    asked : None where nothing is moved

    Raises MillprepError or WordError for readings that cannot be judged.
    """
    from millprep.infiles.measured_file import read_measured
    from millprep.matching.measured_places import (
        nominal_readings,
        readings_of_setups,
        setup_measured,
    )
    from millprep.matching.moving import moved_to_fit
    from millprep.witness.moved import as_moved

    if asked is None:
        return part, part, []
    axes = shop.readout.reversed_axes
    nominal, in_setup = nominal_readings(part, axes), readings_of_setups(part, axes)
    measured = read_measured(asked.file, part, nominal, in_setup)
    most_mm = None if asked.most is None else float(read_length(asked.most, part.units))
    if most_mm is not None and most_mm < 0:
        raise WordError(f'--most-move "{asked.most}" is less than nothing', "a length: 0.2 mm")
    made, findings = moved_to_fit(part, shop, measured, asked.setup, most_mm)
    setup = setup_measured(part, measured, asked.setup)
    return made, as_moved(part, lay_of(setup), measured, axes), findings
