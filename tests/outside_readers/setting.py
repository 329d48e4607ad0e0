"""The sentences of a listing on setting up: TURN, HOLD, SKEW, HEAD, HAND, RECOVER, more of ZERO.

Each reader takes the sentences with their line breaks undone. Imports layers 0 to 2.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from fractions import Fraction

from millprep.base.records import replace
from millprep.base.units import MM_PER_INCH, Units, shown
from millprep.reading.pages.printed import FACE_WORDS, NUMBER, Figure, UnreadableSheet, figure
from outside_readers.hand import read_hands
from outside_readers.records import Betrayal, ByRule, HeadHeight, Held, Over, Setting, Turn

_FACE = f"(?:{FACE_WORDS})"
_SIDE = "left hand|right hand|towards you|away"
_SLIPS = (
    "finder's radius forgotten",
    "finder's radius the wrong way",
    "wrong edge or mirrored",
    "one turn of the handle out",
    "readout in the other unit",
)
_RULE = rf"(?:{NUMBER}|(?:\d+ )?\d+/\d+)"

_STANDS = {
    "at your left hand": "left hand",
    "at your right hand": "right hand",
    "towards you": "towards you",
    "away from you": "away",
}
_TURN = re.compile(
    rf"deburr every hole and wipe the part first\. From (?P<face>{_FACE}) up, "
    rf"(?P<near>{_FACE}) towards you: (?P<moves>[a-z ,()]+)\."
    rf"(?: (?P<fixed>{_FACE}) (?:stays on|comes to) the fixed jaw, "
    rf"(?P<stop>{_FACE}) (?:stays at|comes to) the stop"
    rf"(?:, moved to stand (?P<stop_side>{'|'.join(_STANDS)}))?\.)?"
)
_MOVE = re.compile(
    r"(?:turn it end for end|roll it right over|(?:roll|tip) it (?P<quarter>a quarter)) about the "
    r"axis (?P<axis>from hand to hand|away from you)(?: \((?:along|square to) the jaws\))?"
    r"(?:, upper side (?P<to>towards you|away from you|to your right hand|to your left hand))?"
    r"|turn it (?P<amount>half way|a quarter) round on the plate(?:, (?P<way>(?:anti)?clockwise))?"
)
_QUARTERS = {
    ("x", "towards you"): 90, ("x", "away from you"): -90,
    ("y", "to your right hand"): 90, ("y", "to your left hand"): -90,
    ("z", "anticlockwise"): 90, ("z", "clockwise"): -90,
}  # fmt: skip
_HELD = re.compile(
    rf"vice, (?P<grip>{NUMBER}) (?P<unit>mm|in) grip, (?P<fixed>{_FACE}) on the fixed jaw "
    rf"\((?P<side>{_SIDE})\), (?P<stop>{_FACE}) to the stop, "
    r"(?P<seat>[^.]+(?:\.\d[^.]*)*)\.(?: .*)?"
)
_SEATS = (
    "no room for parallels: flat backing under the whole part",
    "on the backing",
    "on the floor of the vice",
    "packed up from the floor of the vice",
)
_STRIP = rf"(?P<axis>[XY]) (?P<a>{NUMBER}) to (?P<b>{NUMBER})"
_STRIPS = re.compile(
    rf"parallels along the jaws at (?P<strips>[XY] {NUMBER} to {NUMBER}"
    rf"(?: and [XY] {NUMBER} to {NUMBER})*)(?:, (?P<height>{NUMBER}) (?:mm|in) high)?",
    re.ASCII,
)
_SKEW = re.compile(
    rf"the part lies (?P<angle>{NUMBER}) deg (?P<way>(?:anti)?clockwise) as you look down; "
    r"X and Y of the steps are turned with it\. .*",
    re.ASCII,
)
_HEAD = re.compile(
    r"changes? (?P<first>\d+)(?: to (?P<last>\d+))?"
    r"(?:, zero found again (?P<how>over|in the spot of) (?P<again>.+?))?"
    rf": longest (?P<long>{NUMBER}), "
    rf"shortest (?P<short>{NUMBER}), deepest (?P<deep>{NUMBER}): (?P<needed>{NUMBER}) of "
    rf"(?P<quill>{NUMBER}) (?:mm|in) of quill\.",
    re.ASCII,
)
_HEAD_OPENING = re.compile(
    r"(?:one height of the head does; lock it, and leave it for the whole setup\."
    r"|the head moves (?P<moves>once|\d+ times) and loses X and Y: find zero again there"
    r"(?:; the tools stand in the order that moves it least)?\.)(?= |$)",
    re.ASCII,
)
_RECOVER = re.compile(
    rf"a lost zero is found again over (?P<a>.+), X (?P<x1>{NUMBER}) Y (?P<y1>{NUMBER}), and "
    rf"(?P<b>.+), X (?P<x2>{NUMBER}) Y (?P<y2>{NUMBER}): (?P<apart>{NUMBER}) apart\.",
    re.ASCII,
)
_MORE_OF_ZERO = re.compile(
    rf"(?:truer: an indicator in the spindle round the (?:bore|rim), to {NUMBER} (?:mm|in) in a "
    rf"turn, then set X to (?P<middle_x>{NUMBER}) and Y to (?P<middle_y>{NUMBER})\. ?)?"
    rf"(?:over (?P<made>.+), made before, it must read X (?P<made_x>{NUMBER}) "
    rf"Y (?P<made_y>{NUMBER})\. ?)?"
    rf"(?:then go to X (?P<x>{NUMBER}) Y (?P<y>{NUMBER}), over (?P<first>.+): by rule "
    rf"(?P<a>{_RULE}) (?P<unit>mm|in) from (?P<a_face>{_FACE}), "
    rf"(?P<b>{_RULE}) (?:mm|in) from (?P<b_face>{_FACE})\.)?",
    re.ASCII,
)
FINEST_RULE = 64  # rules are divided to a 64th of an inch
_LABELS = ("turn", "hold", "skew", "head", "hand", "recover")
_MEANT = rf"{NUMBER}(?: or {NUMBER})*: (?:{'|'.join(map(re.escape, _SLIPS))})"
_BETRAYAL = re.compile(
    rf"IF IT READS, (?P<start>.+?) to (?P<end>.+?): (?P<right>{NUMBER}) (?P<unit>mm|in) is right"
    rf"(?P<meanings>(?:; {_MEANT})+)\.(?= IF IT READS, |$)",
    re.ASCII,
)


def read_setting(texts: Mapping[str, str], zero: Setting, units: Units) -> Setting:
    """All that is said of setting up: `texts` by label in small letters, `zero` what ZERO said.

    Raises UnreadableSheet.
    """
    turn, hold, skew, head, hand, recover = (texts.get(label, "") for label in _LABELS)
    holes, apart = read_recover(recover, units) if recover else ((), None)
    return replace(
        zero,
        turn=read_turn(turn) if turn else None,
        held=read_held(hold, units),
        skew_deg=read_skew(skew) if skew else 0.0,
        head=read_head(head, units) if head else (),
        hands=read_hands(hand),
        recover=holes,
        apart=apart,
    )


def read_turn(text: str) -> Turn:
    """The TURN sentences. Raises UnreadableSheet."""
    match = _TURN.fullmatch(text)
    if match is None:
        raise UnreadableSheet(f"TURN says {shown(text)}")
    moves = () if match["moves"] == "leave it as it lies" else match["moves"].split(", then ")
    fixed, stop = match["fixed"], match["stop"]
    return Turn(
        match["face"].lower(),
        match["near"].lower(),
        tuple(_move(words) for words in moves),
        fixed and fixed.lower(),
        stop and stop.lower(),
        _STANDS.get(match["stop_side"]),
    )


def _move(words: str) -> tuple[str, int]:
    match = _MOVE.fullmatch(words)
    if match is None:
        raise UnreadableSheet(f"TURN says {shown(words)}")
    axis = {"from hand to hand": "x", "away from you": "y", None: "z"}[match["axis"]]
    way = match["to"] or match["way"]
    is_quarter = match["quarter"] is not None or match["amount"] == "a quarter"
    if is_quarter != (way is not None) or (way and (axis, way) not in _QUARTERS):
        raise UnreadableSheet(f"TURN says {shown(words)}")
    return axis, _QUARTERS[axis, way] if way else 180


def read_held(text: str, units: Units) -> Held | None:
    """The vice of the HOLD sentences; None where another way is told. Raises UnreadableSheet."""
    if not text.startswith("vice, "):
        return None
    match = _HELD.fullmatch(text)
    strips = _STRIPS.fullmatch(match["seat"]) if match is not None else None
    if match is None or (strips is None and match["seat"] not in _SEATS):
        raise UnreadableSheet(f"HOLD says {shown(text)}")
    grip_units: Units = "mm" if match["unit"] == "mm" else "inch"
    held = (match["fixed"].lower(), match["side"], match["stop"].lower())
    grip = figure(match["grip"], grip_units)
    if strips is None:
        return Held(grip, *held)
    edges = tuple(
        (one["axis"].lower(), figure(one["a"], units), figure(one["b"], units))
        for one in re.finditer(_STRIP, strips["strips"])
    )
    height = strips["height"]
    return Held(grip, *held, edges, None if height is None else figure(height, units))


def read_skew(text: str) -> float:
    """The angle of the SKEW sentences [deg], anticlockwise. Raises UnreadableSheet."""
    match = _SKEW.fullmatch(text)
    if match is None:
        raise UnreadableSheet(f"SKEW says {shown(text)}")
    angle = float(match["angle"])
    return angle if match["way"] == "anticlockwise" else -angle


def read_head(text: str, units: Units) -> tuple[HeadHeight, ...]:
    """The HEAD sentences. Raises UnreadableSheet."""
    opening = _HEAD_OPENING.match(text)
    rest = text[opening.end() :].strip(" ") if opening is not None else "?"
    heights = []
    while match := _HEAD.match(rest):
        long, short, deep, needed, quill = (
            figure(match[name], units) for name in ("long", "short", "deep", "needed", "quill")
        )
        first = int(match["first"])
        heights.append(
            HeadHeight(
                first,
                int(match["last"] or first),
                long,
                short,
                deep,
                needed,
                quill,
                match["again"],
                match["how"] == "in the spot of",
            )
        )
        rest = rest[match.end() :].strip(" ")
    moves = opening["moves"] if opening is not None else None
    if rest or len(heights) != _count(moves) + 1:
        raise UnreadableSheet(f"HEAD says {shown(text)}")
    return tuple(heights)


def _count(moves: str | None) -> int:
    if moves is None:
        return 0
    return 1 if moves == "once" else int(moves.removesuffix(" times"))


def read_recover(text: str, units: Units) -> tuple[tuple[Over, ...], Figure]:
    """The two holes of the RECOVER sentence, and how far apart. Raises UnreadableSheet."""
    match = _RECOVER.fullmatch(text)
    if match is None:
        raise UnreadableSheet(f"RECOVER says {shown(text)}")
    holes = tuple(
        Over(match[hole], figure(match[x], units), figure(match[y], units))
        for hole, x, y in (("a", "x1", "y1"), ("b", "x2", "y2"))
    )
    return holes, figure(match["apart"], units)


def read_more_of_zero(text: str, units: Units) -> Setting:
    """What follows the check move: clocking, a hole made before, the first hole by rule."""
    match = _MORE_OF_ZERO.fullmatch(text)
    if match is None:
        raise UnreadableSheet(f"ZERO says {shown(text)}")

    def pair(x: str, y: str) -> tuple[Figure, Figure]:
        return figure(match[x], units), figure(match[y], units)

    made = (Over(match["made"], *pair("made_x", "made_y")),) if match["made"] else ()
    middle = pair("middle_x", "middle_y") if match["middle_x"] else None
    if not match["first"]:
        return Setting(made=made, middle=middle)
    distances = tuple(
        (ruled(match[name], units), match[f"{name}_face"].lower()) for name in ("a", "b")
    )
    by_rule = ByRule(match["first"], (distances[0], distances[1]))
    return Setting(
        made=made, middle=middle, first=Over(match["first"], *pair("x", "y")), by_rule=by_rule
    )


def ruled(text: str, units: Units) -> Figure:
    """A distance as a rule shows it: a decimal, or whole inches and a fraction."""
    if units == "mm":
        return figure(text, units)
    inches = sum(Fraction(piece) for piece in text.split())
    return Figure(float(inches * MM_PER_INCH), float(MM_PER_INCH / FINEST_RULE / 2))


def read_betrayals(text: str, units: Units) -> tuple[Betrayal, ...]:
    """The sentences IF IT READS. Raises UnreadableSheet."""
    found = []
    position = 0
    for match in _BETRAYAL.finditer(text):
        if text[position : match.start()].strip(" ") or match["unit"] != (
            "in" if units == "inch" else "mm"
        ):
            break
        found.append(
            Betrayal(
                match["start"],
                match["end"],
                figure(match["right"], units),
                tuple(_meanings(match["meanings"], units)),
            )
        )
        position = match.end()
    if text[position:].strip(" "):
        raise UnreadableSheet(f"unknown line {shown(text[position:])}")
    return tuple(found)


def _meanings(text: str, units: Units) -> Iterator[tuple[Figure, str]]:
    for one in text.removeprefix("; ").split("; "):
        values, _, slip = one.partition(": ")
        for value in values.split(" or "):
            yield figure(value, units), slip
