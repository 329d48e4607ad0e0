"""What call-outs say of how many holes there are and where: pitch circles, edges, centre lines."""

from __future__ import annotations

import re

from millprep.infiles.call_out.marks import ANGLE, DIA, EDGE, FIGURE, GONE_HERE, edge_of
from millprep.infiles.call_out.mouths import degrees
from millprep.infiles.call_out.scanned import HOW_MANY, PLACED, Said, Scanned, Span
from millprep.model.part import AXIS_FACES, FACE_AXIS, Face, plane_axes

NUMBER_WORDS = (
    *("one", "two", "three", "four", "five", "six"),
    *("seven", "eight", "nine", "ten", "eleven", "twelve"),
)
_COUNT = (
    rf"(?<![\w./#,-])(?P<no>(?:#|no\.?|number)\s*)?(?P<count>\d{{1,3}}|{'|'.join(NUMBER_WORDS)})"
)
_PCD = (
    r"\b(?:p\.?\s?c\.?\s?d\b\.?|p\.\s?c\.(?!\w)(?:\s*dia(?:m(?:eter)?)?\b\.?)?|(?:pitch|bolt)[\s-]+circle(?:\s+dia(?:m(?:eter)?)?\b\.?)?"
    r"|b\.?c\.?d?\b\.?)"
)
_PCR = r"\b(?:p\.?\s?c\.?\s?r\b\.?|(?:pitch\s+)?circle\s+rad(?:ius)?\b\.?)"
_ON = r"(?:\b(?:on|in|a?round)\s+)?(?:\b(?:an?|the)\s+)?"
_IS = r"\s*(?:of|=|:|is)?\s*"
_LINES = r"centre\s*-?\s*lines?"
_TO_LINES = rf"(?P<lines>\s*(?:to|from|off)\s+(?:the\s+|both\s+|a\s+)?{_LINES})"
_EVEN = (
    r"\b(?:spaced\s+equally\b|eq(?:ually|ui|\.)?[\s-]*(?:sp(?:aced|\.)?|divided)|evenly\s+spaced)"
    r"(?:\s+round\b)?"
)


def counts(scanned: Scanned) -> None:
    """How many holes. Where a fraction may be the count's or the size's, both are refused."""
    mixed = (
        r"^\s*(?P<mixed>(?:[2-9]|1\d)(?:\s+|-)\d+/\d+)(?:\s*dia\b\.?)?"
        r"(?=\s*(?:holes?\b|thro|thru|drill|ream|,|;|$))"
    )
    for match in scanned.found(mixed):
        whole, part = re.split(r"[\s-]+", match["mixed"], maxsplit=1)
        scanned.refuse(match.span(), f'write "{whole} holes, {part} dia", or the size with dia')
    for match in scanned.found(
        rf"{_COUNT}\s*(?:off\b|no\.?\s*off\b)(?:\s+holes?\b)?",
        rf"{_COUNT}\s*(?:no\.?s?\s+)?(?:holes?|places|positions)\b",
        rf"{_COUNT}\s*(?:x|-)\s*(?=ø|dia\b|m\d|#|no\b\.?\s*\d|letter\b|\d+\s*ba\b|drill|tap|ream|bore|clear)",
        rf"{_COUNT}\s+(?=(?:#|no\b\.?)\s*\d)",
        rf"^\s*{_COUNT}\s+-\s+(?=\S)",
        rf"(?P<no>(?!))?\b(?P<count>{'|'.join(NUMBER_WORDS[1:])})\s+(?={FIGURE}\s*(?:{DIA}\s*)?holes\b)",
        rf"{_COUNT}\s+(?={_EVEN})",
        rf"{_COUNT}\s+(?=on\s+(?:an?\s+)?{FIGURE}\s*(?:{DIA}\s*)?{_PCD})",
    ):
        if match["no"]:
            continue
        word = match["count"]
        count = int(word) if word.isdigit() else NUMBER_WORDS.index(word) + 1
        if scanned.count is not None:
            scanned.refuse(match.span(), f"{scanned.count} holes before: which of the two?")
            continue
        if count:
            scanned.count = count
            scanned.strike(match.span(), GONE_HERE)


def circles(scanned: Scanned) -> None:
    """A pitch circle, its first hole and which way it goes round."""
    for match in scanned.found(
        rf"{_ON}(?P<radius>{FIGURE})\s*{_PCR}",
        rf"{_ON}{_PCR}{_IS}(?P<radius>{FIGURE})",
        rf"{_ON}(?:{DIA}\s*)?(?P<diameter>{FIGURE})\s*(?:{DIA}\s*)?{_PCD}",
        rf"{_ON}{_PCD}{_IS}(?:{DIA}\s*)?(?P<diameter>{FIGURE})(?:\s*{DIA})?",
        rf"{_ON}(?P<diameter>{FIGURE})\s*{DIA}\s*circle\b",
        rf"{_ON}\bcircle{_IS}(?:{DIA}\s*(?P<diameter>{FIGURE})|(?P<other>{FIGURE})\s*{DIA})",
    ):
        key = "radius" if "radius" in match.groupdict() else "diameter"
        size = scanned.word(match, key, "other")
        what = "pitch circle" if key == "diameter" else "pitch circle radius"
        scanned.take(match.span(), {f"circle.{key}": size}, PLACED, f"on a {size} {what}")
    if not _has_circle(scanned):
        return
    _starts(scanned)
    _spacing(scanned)


def _has_circle(scanned: Scanned) -> bool:
    return "circle.diameter" in scanned.values or "circle.radius" in scanned.values


def _starts(scanned: Scanned) -> None:
    for match in scanned.found(r"\b(?P<anti>anti|counter)?[\s-]?clockwise\b"):
        if match["anti"]:
            scanned.strike(match.span())
        else:
            scanned.take(
                match.span(), {"circle.clockwise": "true"}, PLACED, "going round clockwise"
            )
    for match in scanned.found(
        rf"\b(?:first\s+(?:hole\s+|one\s+)?|start(?:ing)?\s+)(?:at|from)?\s*(?P<angle>{ANGLE}){_TO_LINES}?",
        rf"(?:\bat\s+)?(?P<angle>{ANGLE}){_TO_LINES}",
        rf"\bat\s+(?P<angle>{ANGLE})(?!\s*(?:apart|spacing|pitch|x))",
    ):
        angle = degrees(scanned.word(match, "angle"))
        if "lines" not in match.groupdict() and _is_step(angle, scanned.count):
            _take_spacing(scanned, match.span(), angle)
            continue
        if match.groupdict().get("lines") and not _is_the_same_from_all(angle, scanned.count):
            why = "from which centre line, and which way? write: first at ... deg, 0 at the right"
            scanned.refuse(match.span(), why)
            continue
        scanned.take(match.span(), {"circle.start": angle}, PLACED, f"first at {angle} deg")


def _is_the_same_from_all(angle: str, count: int | None) -> bool:
    """Whether a circle is the same wherever its angle to a centre line is counted from."""
    if not re.fullmatch(r"\d+(\.\d+)?", angle) or not count:
        return False
    start, step = float(angle), 360 / count
    others = (sign * start + quarter * 90 for sign in (1, -1) for quarter in range(4))
    return all(min((one - start) % step, (start - one) % step) < 1e-9 for one in others)


def _spacing(scanned: Scanned) -> None:
    for match in scanned.found(_EVEN):
        scanned.strike(match.span())
    for match in scanned.found(rf"(?:\bat\s+)?(?P<angle>{ANGLE})\s*(?:apart|spacing|pitch)\b"):
        angle = degrees(scanned.word(match, "angle"))
        if _is_step(angle, scanned.count):
            _take_spacing(scanned, match.span(), angle)
        else:
            count = scanned.count
            holes = f"{count} holes are {360 / count:g} deg apart" if count else "how many holes?"
            scanned.refuse(match.span(), holes)


def _take_spacing(scanned: Scanned, span: Span, angle: str) -> None:
    """Equally spaced, in other words."""
    scanned.said.append(Said(PLACED, f"{angle} deg apart"))
    scanned.strike(span)


def _is_step(angle: str, count: int | None) -> bool:
    """Whether that many holes round a circle are so far apart."""
    return bool(count) and "'" not in angle and abs(float(angle) * (count or 0) - 360) < 1


def points(scanned: Scanned) -> None:
    """Places in brackets: (7/8, 5/16), the first figure along the face, the second across."""
    for match in scanned.found(
        rf"(?:\b(?:its\s+)?centre\s+)?(?:\bat\s+)?\(\s*{FIGURE}\s*[,;]\s*{FIGURE}\s*\)"
        rf"(?:\s*(?:,|and|&)?\s*\(\s*{FIGURE}\s*[,;]\s*{FIGURE}\s*\))*"
    ):
        inside = re.findall(r"\(([^()]*)\)", scanned.word_of(match.span()))
        pairs = [re.split(r"\s*[,;]\s*", pair.strip()) for pair in inside]
        if any(len(pair) != 2 for pair in pairs):
            scanned.refuse(match.span(), "write each place as two figures: (7/8, 5/16)")
            continue
        lists = [f"[{_quoted(a)}, {_quoted(b)}]" for a, b in pairs]
        value = lists[0] if len(lists) == 1 else f"[{', '.join(lists)}]"
        said = "at " + ", ".join(f"({a}, {b})" for a, b in pairs)
        key = "circle.centre" if _has_circle(scanned) and len(lists) == 1 else "at"
        scanned.take(match.span(), {key: value}, PLACED, said)


def _quoted(figure: str) -> str:
    """A length in a list of a file."""
    if re.fullmatch(r"\d+(\.\d+)?", figure):
        return figure
    return "'" + figure + "'" if '"' in figure else f'"{figure}"'


def edges(scanned: Scanned) -> None:
    """Distances from edges and centre lines, put together once all are known."""
    corner = list(
        scanned.found(r"(?:\bone\s+)?\b(?:in|at)\s+(?:each|the|all)?\s*(?:four\s+)?corners?\b")
    )
    for match in corner:
        scanned.strike(match.span())
    for match in scanned.found(
        rf"(?P<inset>{FIGURE})(?P<in>\s*in\b)?\s+from\s+(?:the\s+)?(?:each\s+|all\s+|four\s+)*edges?\b"
    ):
        if _says_in(scanned, match):
            continue
        if scanned.count not in (None, 4):
            scanned.refuse(match.span(), f"{scanned.count} holes: which edges?")
            continue
        inset = scanned.word(match, "inset")
        values = {"corners.inset": inset}
        scanned.take(match.span(), values, PLACED, f"one in each corner, {inset} in from the edges")
        corner = []
    for match in corner:
        scanned.refuse(match.span(), "how far in from the edges are the corners' holes?")
    ends = _ends(scanned)
    placed = _edges(scanned)
    lines = _lines(scanned, {FACE_AXIS[edge] for edge in placed} | ({0} if ends else set()))
    _put(scanned, ends, placed, lines)


def _says_in(scanned: Scanned, match: re.Match[str]) -> bool:
    """In a millimetre plan "10 in from" may mean inches."""
    if scanned.units == "inch" or not match.groupdict().get("in"):
        return False
    figure = match[next(iter(match.groupdict()))]
    if re.search(r"mm|in|\"", figure):
        return False
    scanned.refuse(match.span(), f'write "{figure} from", or with its unit, "{figure} mm in from"')
    return True


def _ends(scanned: Scanned) -> tuple[str, Span] | None:
    found: tuple[str, Span] | None = None
    for match in scanned.found(
        rf"(?P<ends>{FIGURE})(?P<in>\s*in\b)?\s+from\s+(?:each|both|either)\s+(?P<what>end|side)s?\b"
    ):
        if _says_in(scanned, match):
            continue
        if match["what"] == "side" or FACE_AXIS[scanned.face] == 0 or found:
            scanned.refuse(
                match.span(), "from which edges? write left and right, or front and back"
            )
            continue
        found = scanned.word(match, "ends"), match.span()
        scanned.strike(match.span())
    return found


def _edges(scanned: Scanned) -> dict[Face, tuple[str, Span]]:
    placed: dict[Face, tuple[str, Span]] = {}
    across = plane_axes(scanned.face)
    for match in scanned.found(
        rf"(?:\b(?:its\s+)?centre\s+)?(?P<length>{FIGURE})(?P<in>\s*in\b)?(?:\s+(?:up|down|out|back|across|along|over|in))?"
        rf"\s+from\s+{EDGE}"
    ):
        edge = edge_of(match["edge"])
        if _says_in(scanned, match):
            continue
        if FACE_AXIS[edge] not in across:
            names = ", ".join(face for axis in across for face in AXIS_FACES[axis])
            why = f"{edge} does not run across the {scanned.face} face: from {names}?"
            scanned.refuse(match.span(), why)
        elif any(FACE_AXIS[edge] == FACE_AXIS[other] for other in placed):
            scanned.refuse(match.span(), "placed that way before: which of the two?")
        else:
            placed[edge] = scanned.word(match, "length"), match.span()
            scanned.strike(match.span())
    for match in scanned.found(rf"(?P<length>{FIGURE})(?:\s+\w+)?\s+from\s+(?:the\s+)?{_LINES}"):
        scanned.refuse(match.span(), "from which centre line, and to which side?")
    return placed


def _lines(scanned: Scanned, known: set[int]) -> dict[str, Span]:
    """The centre lines that the hole is on, by their key."""
    found: dict[str, Span] = {}
    across = plane_axes(scanned.face)
    for match in scanned.found(
        r"(?P<centre>(?:\bits\s+)?\bcent(?:re|red)\s+(?:is\s+)?(?=on\b))?(?:\bon\s+)?(?:the\s+)?"
        rf"(?P<both>both\s+)?(?:the\s+)?{_LINES}(?:\s+both\s+ways)?"
    ):
        is_both = bool(match["both"]) or match[0].endswith(("lines", "both ways"))
        if _has_circle(scanned) and not match["centre"]:
            scanned.refuse(match.span(), "the circle's centre, or its holes? write: centre on ...")
            continue
        open_axes = [axis for axis in across if axis not in known]
        if found or len(open_axes) != (2 if is_both else 1):
            scanned.refuse(match.span(), "which centre line?")
            continue
        scanned.strike(match.span())
        found = {f"centre_{'xyz'[axis]}": match.span() for axis in open_axes}
    return found


def _put(
    scanned: Scanned,
    ends: tuple[str, Span] | None,
    placed: dict[Face, tuple[str, Span]],
    lines: dict[str, Span],
) -> None:
    figures: dict[str, str] = {name: length for name, (length, _) in placed.items()}
    where = [f"{length} from the {name}" for name, length in figures.items()]
    where += ["on both centre lines" if len(lines) == 2 else "on the centre line"] if lines else []
    figures.update(dict.fromkeys(lines, "0"))
    if ends is None:
        prefix = "circle.centre." if _has_circle(scanned) else "at."
        values = {prefix + name: length for name, length in figures.items()}
        said = "; ".join(where)
        if prefix != "at.":
            said = "its centre " + said
        spans = [*(span for _, span in placed.values()), *lines.values()]
        if values:
            _take_all(scanned, spans, values, said)
        return
    length, span = ends
    if len(figures) != 1 or scanned.count not in (None, 2):
        scanned.refuse(span, "two holes, each from its end: and across, from where?")
        _put(scanned, None, placed, lines)
        return
    ((name, across),) = figures.items()
    both = (
        f"{{ {end} = {_quoted(length)}, {name} = {_quoted(across)} }}" for end in ("left", "right")
    )
    said = f"{length} from the left and {length} from the right; {where[0]}"
    spans = [span, *(one for _, one in placed.values()), *lines.values()]
    _take_all(scanned, spans, {"at": f"[{', '.join(both)}]"}, said)


def _take_all(scanned: Scanned, spans: list[Span], values: dict[str, str], said: str) -> None:
    if not scanned.take(spans[0], values, PLACED, said):
        why = scanned.left[spans[0]]
        for span in spans[1:]:
            scanned.refuse(span, why)


def faces(scanned: Scanned) -> None:
    """The face that the hole is in; read first, for edges and centre lines hang on it."""
    for match in scanned.found(
        r"\b(?:in(?:to)?|on)\s+(?:the\s+)?(?P<edge>underside|base)\b",
        r"\b(?:in(?:to)?|on)\s+(?:the\s+)?(?P<edge>left|right|front|back|rear|top|bottom)"
        r"(?:[\s-]+hand)?\s+(?:face|end|side)\b",
        r"\bin(?:to)?\s+(?:the\s+)?(?P<edge>front|back|top|bottom|left|right)\b(?!\s*(?:edge|of|left|right))",
    ):
        face = edge_of(match["edge"])
        if scanned.take(match.span(), {"face": face}, PLACED, f"in the {face}"):
            scanned.face = face


def how_many(scanned: Scanned) -> None:
    """The count goes to the pattern that was found; without one the holes wait for places."""
    count = scanned.count
    if count is None:
        return
    said = f"{count} hole{'s' if count > 1 else ''}"
    if _has_circle(scanned) and count > 1:
        scanned.values = {"circle.count": str(count), **scanned.values}
    elif count > 1 and not {"at", "corners.inset"} & scanned.values.keys():
        said += ", each still to be placed"
    scanned.said.append(Said(HOW_MANY, said))


def no_angle(scanned: Scanned) -> None:
    if _has_circle(scanned) and "circle.start" not in scanned.values:
        scanned.said.append(Said(PLACED, "first at the right, 0 deg (no angle given)"))
