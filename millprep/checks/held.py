"""Whether what holds the part in a setup can hold it, and what can; whether a punch fits its hole.

Layers 0 to 3, planning.
"""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.findings import Finding, Offer, Value, Words, stop, warning, words
from millprep.base.records import replace
from millprep.checks.registry import Job, check_at_the_bench, check_of_setup, in_setup, offering
from millprep.model.carrying import DRILLED
from millprep.model.part import Hold
from millprep.planning.drawer import LOOSE_MM, punch_for
from millprep.planning.plan import SetupPlan
from millprep.setting.holding import (
    LEAST_STRAPS,
    Hindrance,
    goes_in_turned,
    hindrance_of,
    size_along_mm,
)
from millprep.setting.round_bars import bars_of, is_bar_lying, is_disc_on_end, least_grip_mm
from millprep.setting.seating import needed_below_mm
from millprep.setting.setups import Setup
from millprep.setting.way_round import hole_to_make_first

_WHY: dict[Hindrance, str] = {
    "opening": "it is {across_mm:exact} across the jaws, and the vice opens {opening_mm:exact}",
    "thin": "it is {height_mm:exact} thick and {across_mm:exact} across the jaws: it bows when its "
    "edges are squeezed",
    "two lines": "flat jaws meet a disc on its end on two lines, and it turns between them",
    "not on end": "a chuck holds a disc or a bar on its end",
    "not round": "vees hold a bar along them, and no flat sides",
    "rolls": "it is round, and rolls where nothing but straps holds it",
    "low centre": "flat jaws must end {centre_mm:exact} or more above the underside of a bar of "
    "{across_mm:exact}, or they squeeze it up and out",
    "no vee jaw": "the vice has no vee jaw",
    "vee size": "the vee jaw takes {vee_least_mm} to {vee_most_mm}, and this is {across_mm:exact}",
    "lip": "the upper lip of the vee jaw is over a hole",
    "vee floor": "tools come out {below_mm} below the bar, into the bed of the vice",
    "no vee blocks": "the shop has no vee blocks",
    "block size": "the vee blocks of the shop do not take a bar of {across_mm:exact}",
    "block length": "it is {along_mm:exact} long and {across_mm:exact} thick, too short for vee "
    "blocks",
    "no chuck": "the shop has no chuck",
    "chuck size": "the chuck takes {chuck_mm:exact}, and this is {across_mm:exact}",
}
_NOT_HELD = stop("cannot-be-held", "", "{advice}")
_BOWS = warning("bows-in-vice", "", "{advice}")
_BELOW_JAWS = warning(
    "below-jaws",
    "{up} is {below_mm} below the jaw tops, which chuck and edge finder would foul",
    "put packing under it that lifts it {least} to {most} {unit} off the bed of the vice, and "
    "into [parallels] or packing of [holding] of the shop file",
)
_FLUSH = replace(
    _BELOW_JAWS, said="{up} is level with the jaw tops, which chuck and edge finder would foul"
)
_NO_TURN = warning(
    "turn-not-set",
    "nothing sets {up} true to what was made before: a mark set by eye is {off_mm:exact} out at "
    "the rim",
    "{advice}",
)
_NONE_MM = 1e-6
_HAIR_PROUD_MM = 0.5  # over the jaw tops, so that a spot drill of any width is clear of them


@check_of_setup
def cannot_be_held(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """What holds the part takes it; where nothing of the shop does, what would."""
    setup, way = setup_plan.setup, setup_plan.holding.way
    below_mm = setup_plan.below_mm
    hindrance = hindrance_of(way, job.plan.part, job.plan.shop, setup, below_mm)
    if hindrance is None:
        return
    saying = _BOWS if hindrance == "thin" else _NOT_HELD
    request = setup.request
    advice, *offers = _what_holds(job, setup, way, hindrance, below_mm)
    found = job.setup_finding(
        replace(saying, said=_WHY[hindrance]),
        setup,
        line=request.lines.get("hold", request.lines.get("vice", request.line)),
        advice=advice,
        **_figures(job, setup, below_mm),
    )
    yield offering(found, *offers)


def _across_mm(setup: Setup) -> float:
    """What lies between the jaws."""
    return size_along_mm(setup, setup.jaws_axis)


def _along_mm(setup: Setup) -> float:
    return size_along_mm(setup, 1 - setup.jaws_axis)


def _figures(job: Job, setup: Setup, below_mm: float) -> dict[str, Value]:
    shop, across_mm = job.plan.shop, _across_mm(setup)
    vee, chuck = shop.vice.vee, shop.holding.chuck
    least_mm, most_mm = bars_of(vee) if vee is not None else (0.0, 0.0)
    return {
        "across_mm": across_mm,
        "along_mm": _along_mm(setup),
        "height_mm": setup.height_mm,
        "opening_mm": shop.vice.opening_mm,
        "centre_mm": least_grip_mm(across_mm),
        "vee_least_mm": least_mm,
        "vee_most_mm": most_mm,
        "below_mm": below_mm,
        "chuck_mm": 0.0 if chuck is None else chuck.diameter_mm,
    }


def _what_holds(
    job: Job, setup: Setup, way: Hold, hindrance: Hindrance, below_mm: float
) -> tuple[str | Words] | tuple[str, Offer]:
    """Another thing of the shop that holds it, or what to get."""
    part, shop, request = job.plan.part, job.plan.shop, setup.request
    is_open = request.hold in (None, "vice") and request.grip_mm is None
    is_short = part.stock.axis is not None and _along_mm(setup) <= _across_mm(setup)
    is_turned = hindrance == "opening" or (is_open and is_short)
    if is_turned and goes_in_turned(part, shop, setup, below_mm):
        other = "xy"[1 - setup.jaws_axis]
        said = (
            f'write vice = {{ jaws = "{other}" }} into [[setup]]: the vice turned across holds it'
        )
        return said, in_setup(("vice.jaws", f'"{other}"'))
    if hindrance == "low centre" and request.grip_mm is not None:
        least_mm = least_grip_mm(_across_mm(setup))
        if least_mm <= shop.vice.jaw_height_mm - needed_below_mm(below_mm):
            least = job.at_least(least_mm)
            said = f"give a grip of {least} {job.unit} or more"
            return said, in_setup(("vice.grip", least))
    bare = replace(setup, request=replace(request, hold=None, grip_mm=None, parallels_at_mm=()))
    for other_way in _of_its_shape(job, setup):
        is_there = other_way != "straps" or shop.holding.straps >= LEAST_STRAPS
        is_free = hindrance_of(other_way, part, shop, bare, below_mm) is None
        if other_way != way and is_there and is_free:
            keys = " and leave vice and parallels out" if "vice" in request.lines else ""
            said = f'write hold = "{other_way}" into [[setup]]{keys}'
            out = [("vice", None), ("parallels", None)] if keys else []
            return said, in_setup(("hold", f'"{other_way}"'), *out)
    return (_what_to_get(job, setup),)


def _of_its_shape(job: Job, setup: Setup) -> tuple[Hold, ...]:
    part = job.plan.part
    if is_disc_on_end(part, setup):
        return "chuck", "vee jaws", "vice", "straps"
    if is_bar_lying(part, setup, setup.jaws_axis):
        return "vee blocks", "vee jaws", "vice"
    return "vice", "straps"


def _what_to_get(job: Job, setup: Setup) -> str | Words:
    across_mm = _across_mm(setup)
    if is_disc_on_end(job.plan.part, setup):
        said = "a chuck of {across_mm:exact} or more holds it, or two straps on the table"
        return words(said, across_mm=across_mm)
    if is_bar_lying(job.plan.part, setup, setup.jaws_axis):
        said = "vee blocks for {across_mm:exact} with their clamps hold it, into [holding]"
        return words(said, across_mm=across_mm)
    return "straps hold it down on the table: two or more, into [holding] of the shop file"


@check_of_setup
def below_the_jaw_tops(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """A part below the jaw tops, or level with them, though nothing of the file asks for it."""
    setup, holding = setup_plan.setup, setup_plan.holding
    request, above_mm = setup.request, holding.jaws_above_mm
    is_of_file = request.grip_mm is not None or bool(request.parallels_at_mm)  # told elsewhere
    if above_mm is None or is_of_file or above_mm < setup.height_mm - _NONE_MM:
        return
    jaw_mm = job.plan.shop.vice.jaw_height_mm
    yield job.setup_finding(
        _BELOW_JAWS if above_mm > setup.height_mm + _NONE_MM else _FLUSH,
        setup,
        up=setup.face.upper(),
        below_mm=above_mm - setup.height_mm,
        least=job.at_least(jaw_mm - setup.height_mm + _HAIR_PROUD_MM),
        most=job.at_most(jaw_mm - setup.height_mm / 2),
        unit=job.unit,
    )


@check_of_setup
def turn_not_set(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """A bar or disc that only a mark brings round to what was made before."""
    turn, setup = setup_plan.holding.way_round, setup_plan.setup
    if turn is None or turn.how != "mark" or not turn.is_close:
        return
    earlier = [one.setup for one in job.plan.setups if one.setup.number < setup.number]
    first = hole_to_make_first(job.plan.part, earlier)
    advice = "make a cross hole of 3 mm or more, and through, before the others: a pin sets it"
    if first is not None:
        advice = (
            f'make "{first.name}" first: write [[setup]] with face = "{first.face}" before the '
            "others; a close pin in it sets the rest"
        )
    yield job.setup_finding(
        _NO_TURN, setup, up=setup.face.upper(), off_mm=turn.off_mm, advice=advice
    )


_LOOSE = warning(
    "punch-loose",
    "{0}: the {punch_mm:2} transfer punch is {slack_mm:2} loose in its hole of {hole_mm:2}",
    "turn a punch to size, or spot it through: it strikes off by half of that",
)
_NONE = warning(
    "punch-loose",
    "{0}: no transfer punch of the shop goes into a hole of {hole_mm:2}",
    "write those that there are into the drawer: transfer_punches = [3, 3.5, 4]",
)


_BELOW = warning(
    "held-below",
    "the vice would hold {member}, whose edges are not those of {source} above it",
    'say under setup of the joint how they are held: hold = "straps", over what bears them',
)
_LEVEL_MM = 0.5


@check_of_setup
def edges_in_the_vice(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """What lies below has the outline of what is zeroed on, where jaws and stop hold it."""
    of, by = job.plan.part.carrying, setup_plan.holding.way
    if of is None or of.by not in DRILLED or by not in ("vice", "vee jaws"):
        return
    off = next((o for o in of.besides if o.middle or abs(o.inside_mm) > _LEVEL_MM), None)
    if off is not None:
        setup = setup_plan.setup
        yield job.setup_finding(_BELOW, setup, member=off.member, source=of.source)


@check_at_the_bench
def punches(job: Job) -> Iterator[Finding]:
    """A transfer punch fills its hole."""
    of = job.plan.part.carrying
    if of is None or of.by != "transfer punch":
        return
    holes = {hole.name: hole for hole in job.plan.part.holes}
    for hole_mm in dict.fromkeys(one.passes_mm for one in of.mates):
        first = next(one for one in of.mates if one.passes_mm == hole_mm)
        punch_mm = punch_for(hole_mm, of.punches_mm)
        if punch_mm is None:
            yield job.finding(_NONE, holes[first.name], hole_mm=hole_mm)
        elif hole_mm - punch_mm > LOOSE_MM:
            slack = hole_mm - punch_mm
            yield job.finding(
                _LOOSE, holes[first.name], punch_mm=punch_mm, slack_mm=slack, hole_mm=hole_mm
            )
