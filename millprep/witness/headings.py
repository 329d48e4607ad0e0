"""The figures in a listing's heading and between its rows, against the part.

Finder presets, the places told in words, the LOOK distance, the counts. Imports the part and
`reading`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from millprep.base.findings import Finding
from millprep.reading.pages import SIZE_ROUNDED_MM, Figure, FinderReading, Look, Place, Said
from millprep.witness.betrayals import check_betrayal
from millprep.witness.printed import SLACK_MM, Printed
from millprep.witness.rows import cone_mm

_SIDES = {
    (0, -1.0): "left hand",
    (0, 1.0): "right hand",
    (1, -1.0): "towards you",
    (1, 1.0): "away",
}
_REMEDY = "the sheet does not agree with the part file; please report it"


def check_heading(printed: Printed) -> Iterator[Finding]:
    """Everything a setup says outside its rows."""
    for reading in printed.setup.finder_readings:
        yield from _check_finder(printed, reading)
    for move in printed.setup.check_move or ():
        if move.mm:
            yield _figure(printed, f"the check move over the zero goes to {move.mm:g} mm")
    named = _named(printed)
    for place in printed.setup.places:
        yield from _check_place(printed, place, named)
    yield from _check_groups(printed, named)
    yield from check_words(printed)


def check_words(printed: Printed) -> Iterator[Finding]:
    """Title, lay, and what is said of the steps between their rows."""
    yield from _check_title(printed)
    yield from _check_lay(printed)
    named = _named(printed)
    for look in printed.setup.looks:
        yield from _check_look(printed, look, named)
        for betrayal in look.betrayals:
            yield from check_betrayal(printed, betrayal, named, look.line)
    yield from _check_stock(printed)
    for said in printed.setup.said:
        yield from _check_said(printed, said)
        yield from _check_touched(printed, said)
        yield from _check_measured(printed, said, named)
    yield from _check_done(printed)


def _named(printed: Printed) -> dict[str, list[str]]:
    """The names of the holes by their letters: running text may be broken at any blank."""
    named: dict[str, list[str]] = {}
    for name in printed.places:
        named.setdefault(_unbroken(name), []).append(name)
    return named


def _figure(printed: Printed, words: str, line: int | None = None) -> Finding:
    return printed.stop("wrong-figure", words, _REMEDY, line=line or printed.setup.line)


def _check_title(printed: Printed) -> Iterator[Finding]:
    setup, part = printed.setup, printed.part
    if setup.part_name is not None and setup.part_name not in (part.name, part.name.upper()):
        yield _figure(printed, f'the part is called "{setup.part_name}", not "{part.name}"')
    if setup.part_mark is not None and setup.part_mark != part.mark:
        yield _figure(printed, f"the part mark is {setup.part_mark}, not {part.mark}")


def _check_lay(printed: Printed) -> Iterator[Finding]:
    """The words beside the lay fit it, and it is the one that the part file asks for."""
    setup = printed.setup
    sides = {_SIDES[one.axis, one.outward]: face for face, one in printed.upright.items()}
    for side, face in (("away", setup.away), ("left hand", setup.left_hand)):
        if face is not None and sides[side] != face:
            words = f"{face.upper()} cannot be at the side called {side}: {sides[side].upper()} is"
            yield printed.stop("bad-lay", words, _REMEDY, line=setup.line)
    for request in printed.part.setups:
        if request.face != setup.face:
            continue
        for what, asked, said in (
            ("towards you", request.towards_you, setup.towards_you),
            ("zero of X", request.zero_x, setup.zero_x),
            ("zero of Y", request.zero_y, setup.zero_y),
        ):
            if asked is not None and asked != said:
                words = f"{what} is {said.upper()}; the part file asks for {asked.upper()}"
                yield printed.stop("bad-lay", words, _REMEDY, line=setup.line)


def _check_finder(printed: Printed, reading: FinderReading) -> Iterator[Finding]:
    """With the finder outside a face its centre stands half its diameter beyond the face."""
    upright = printed.upright.get(reading.face)
    axis = "xy".index(reading.axis)
    if upright is None or upright.axis != axis or reading.side != _SIDES[axis, upright.outward]:
        words = f"{reading.face.upper()} is not the face for {reading.axis.upper()}, {reading.side}"
        yield _figure(printed, words)
        return
    finder = printed.finder
    if finder is not None:
        is_size_off = abs(reading.finder.mm - finder.diameter_mm) > SIZE_ROUNDED_MM
        if is_size_off or reading.rpm != finder.speed_rpm:
            yield _figure(printed, f"{reading.axis.upper()} is found with another finder")
    beside = 0.5 if reading.against == "face" else -0.5  # jaw and stop: from the work's side
    exact = printed.signs[axis] * (upright.at_mm + upright.outward * beside * reading.finder.mm)
    reads = reading.reading.mm
    tolerance = printed.half_count_mm + SIZE_ROUNDED_MM / 2
    if abs(reads - exact) > tolerance or not printed.is_whole_counts(reads):
        yield _figure(
            printed,
            f"{reading.axis.upper()} is set to {reads:g} mm against "
            f"{reading.face.upper()}; it stands at {exact:.4f}",
        )


def _unbroken(name: str) -> str:
    """A name without its blanks: running text may have been broken anywhere."""
    return name.replace(" ", "")


def _check_place(printed: Printed, place: Place, named: dict[str, list[str]]) -> Iterator[Finding]:
    names = _names_at_the_end(place.hole, named)
    axes = [printed.upright[face].axis for _, face, _ in place.distances if face in printed.upright]
    if sorted(axes) == [0, 1]:
        for name in names:
            if all(_is_at(printed, name, *distance) for distance in place.distances):
                return
    words = ", ".join(f"{figure.mm:g} mm {face.upper()}" for figure, face, _ in place.distances)
    yield _figure(printed, f"PLACES has {place.hole} at {words}, which is not its place")


def _check_groups(printed: Printed, named: dict[str, list[str]]) -> Iterator[Finding]:
    """Where the form tells places in words, it tells one of every hole and pattern."""
    if printed.setup.part_name is None:
        return
    told = {
        printed.expected[name].hole.group
        for place in printed.setup.places
        for name in _names_at_the_end(place.hole, named)
    }
    for group in {one.hole.group for one in printed.expected.values()} - told:
        yield _figure(printed, f"PLACES does not tell where {group} lies")


def _names_at_the_end(words: str, named: dict[str, list[str]]) -> list[str]:
    """The holes that the words name; behind a note of the place before, any that they end in."""
    unbroken = _unbroken(words)
    starts = range(len(unbroken)) if words.startswith(";") else (0,)
    return [name for start in starts for name in named.get(unbroken[start:], ())]


def _is_at(printed: Printed, name: str, figure: Figure, face: str, from_centre: bool) -> bool:
    upright = printed.upright[face]
    at = printed.places[name][upright.axis]
    if from_centre:
        distance = (at - printed.middle[upright.axis]) * upright.outward
    else:
        distance = (upright.at_mm - at) * upright.outward
    is_near = abs(distance - figure.mm) <= printed.half_count_mm
    return is_near and printed.is_whole_counts(figure.mm)


def _check_look(printed: Printed, look: Look, named: dict[str, list[str]]) -> Iterator[Finding]:
    if look.count != look.listed:
        words = f"LOOK counts {look.count} spots; {look.listed} rows stand above it"
        yield _figure(printed, words, look.line)
    tolerance = look.distance.half_digit_mm + printed.half_count_mm
    pieces = look.pair.split(" to ")
    for split in range(1, len(pieces)):
        first, second = " to ".join(pieces[:split]), " to ".join(pieces[split:])
        for distance in _distances(printed, first, second, named):
            if abs(distance - look.distance.mm) <= tolerance:
                return
    yield _figure(printed, f"LOOK has {look.distance.mm:g} mm for {look.pair}", look.line)


def _distances(
    printed: Printed, first: str, second: str, named: dict[str, list[str]]
) -> Iterator[float]:
    """Every distance that the two names can mean: hole to hole, or hole to face."""
    for name in named.get(_unbroken(first), ()):
        here = printed.places[name]
        for other in named.get(_unbroken(second), ()):
            yield math.dist(here, printed.places[other])
        upright = printed.upright.get(second.lower()) if second.isupper() else None
        if upright is not None:
            yield abs(here[upright.axis] - upright.at_mm)


def _check_said(printed: Printed, said: Said) -> Iterator[Finding]:
    """Widths at the face are those of the rows' cones, all of them; limits are the part's."""
    rows = printed.setup.rows[slice(*said.rows)]
    if said.count not in (None, len(rows), len({row.hole for row in rows})):
        words = f"the tool is said to make {said.count} holes; {len(rows)} rows stand below it"
        yield _figure(printed, words, said.line)
    cones = [cone for row in rows if (cone := cone_mm(row.tool, printed.z_sign * row.z_mm))]
    tolerance = 4 * printed.half_count_mm + SIZE_ROUNDED_MM  # cones up to about 120 degrees
    widths = [opening.mm for opening in said.openings]
    unsaid = [c for c in cones if all(abs(c - width) > tolerance for width in widths)]
    unmade = [width for width in widths if all(abs(cone - width) > tolerance for cone in cones)]
    if (widths and unsaid) or unmade:
        what = ", ".join(f"{width:g}" for width in widths)
        made = ", ".join(f"{cone:.3f}" for cone in (unsaid or cones)[:3])
        words = f"holes are said to open to {what} mm; they open to {made}"
        yield _figure(printed, words, said.line)
    holes = [printed.expected[row.hole].hole for row in rows if row.hole in printed.expected]
    sizes = {
        (hole.diameter_mm + hole.limits_um[0] / 1000, hole.diameter_mm + hole.limits_um[1] / 1000)
        for hole in holes
        if hole.limits_um is not None
    }
    for least, most in said.limits:
        if not any(
            abs(least.mm - low) <= least.half_digit_mm + SLACK_MM
            and abs(most.mm - high) <= most.half_digit_mm + SLACK_MM
            for low, high in sizes
        ):
            words = f"limits {least.mm:.3f} to {most.mm:.3f} mm are no hole's in this section"
            yield _figure(printed, words, said.line)


def _check_stock(printed: Printed) -> Iterator[Finding]:
    """The sizes in the heading are those of the blank, in the order of its axes."""
    told, stock = printed.setup.stock, printed.part.stock
    size: tuple[float, ...] = stock.size_mm
    if stock.axis is not None:
        across = size[1] if stock.axis == 0 else size[0]
        size = (across, size[stock.axis], *([] if stock.bore_mm is None else [stock.bore_mm]))
    is_so = len(told) == len(size) and all(
        abs(one.mm - exact) <= SIZE_ROUNDED_MM for one, exact in zip(told, size, strict=True)
    )
    if told and not is_so:
        words = " x ".join(f"{one.mm:g}" for one in told)
        yield _figure(printed, f"the stock is said to be {words} mm")


def _check_touched(printed: Printed, said: Said) -> Iterator[Finding]:
    """Tools are touched off on the face that is up, and 0 is set there."""
    if said.touched not in (None, (printed.setup.face, "0")):
        face, at = said.touched
        words = f"the tool is said to be touched off on {face.upper()} and set to {at}"
        yield _figure(printed, words, said.line)


def _check_measured(printed: Printed, said: Said, named: dict[str, list[str]]) -> Iterator[Finding]:
    """What is to be measured after a step is a distance of that step's hole."""
    if said.measured is None:
        return
    step, betrayals = said.measured
    here = [row.hole for row in printed.setup.rows if row.step == step]
    for betrayal in betrayals:
        yield from check_betrayal(printed, betrayal, named, said.line)
        if [_unbroken(betrayal.end)] != [_unbroken(hole) for hole in here]:
            words = f"{betrayal.end} cannot be measured after step {step}"
            yield _figure(printed, words, said.line)


def _check_done(printed: Printed) -> Iterator[Finding]:
    if printed.setup.done is None:
        return
    rows = printed.setup.rows
    counted = len({row.hole for row in rows}), len(rows)
    holes, of, steps = printed.setup.done
    if (holes, of, steps) != (counted[0], *counted):
        yield _figure(
            printed,
            f"DONE counts {holes} of {of} holes and {steps} steps; the rows have {counted[0]} "
            f"holes and {counted[1]} steps",
        )
