"""The words of the bench: what each names, and those that only hold a question together.

A phrase names one or more kinds; kinds are what an answer asks for (see `answers`). The longest
phrase wins: a spot drill is no drill, a centre drill is not the centre of anything.
"""

from __future__ import annotations

from millprep.sizes import HEAD_NAMES

_SAID: dict[str, str] = {
    # operations
    "tap": "tap, tapping, taps, tapped, tap drill, tapping drill, tapping size, tap size, "
    "tapping drill size, tap drill size, tapping hole, tap hole, tapped hole, drill for tap, "
    "drill to tap, drill before tap, drill for tapping",
    "drill": "drill, drills, drilling, drilled, drill bit, twist drill, drill size, drilled hole, "
    "predrill, pre-drill, pre drill, pilot, pilot drill, pilot hole",
    "ream": "ream, reamer, reaming, reamed, machine reamer, reamed hole, reamer drill size, "
    "drill before reamer, reaming drill",
    "spot drill": "spot, spotting, spot drill, spot drilling, spotting drill",
    "counterbore": "counterbore, c'bore, cbore, c/bore, counter bore, counterbored, counterboring, "
    "counterbored hole",
    "countersink": "countersink, countersinking, counter sink, c'sink, c/sink, csink, countersunk hole, cone, "
    "cone depth, countersink depth",
    "tip": "point length, length of point, drill point, point depth, drill tip",
    "spotface": "spotface, spot face, spotfacing",
    "bore": "bore, boring, boring head, bored, bored hole",
    "made": "reamed hole, drilled hole, tapped hole, bored hole, counterbored hole, "
    "countersunk hole, reamed holes, drilled holes, tapped holes, bored holes",
    # what is asked for
    "clearance": "clearance, clear, clearing, clearance hole, clearance drill, clearance size, "
    "clearance drill size, clearing hole, clearing drill, clears, through hole, bolt hole, "
    "screw hole, bolt holes, screw holes",
    "pitch": "pitch, thread pitch, tpi, threads per inch",
    "effective": "pitch diameter, effective diameter, pitch dia",
    "thick": "thickness, thick, height, high, head height, head thickness",
    "core": "core, core diameter, core dia, minor, minor diameter, minor dia, root diameter",
    "major": "major, major diameter, major dia, outside diameter, od",
    "flats": "spanner, spanners, spanner size, across flats, a/f, af, wrench",
    "speed": "speed, speeds, rpm, rev/min, revs, spindle speed, cutting speed, speeds and feeds, "
    "speed and feed, feeds and speeds, rev per min, r/min, surface speed, m/min, "
    "ft/min, sfm, fpm, fast, how fast, revolutions",
    "feed": "feed, feeds, feed rate, feedrate",
    "oil": "lubricant, coolant, cutting oil, cutting fluid, oil, lubrication, lube",
    "pecks": "peck, pecks, pecking, first peck, peck depth, peck size",
    "percentage": "percentage, thread percentage, thread percent, percent, %, per cent, "
    "percent thread, % thread, percentage thread, percentage of thread",
    "engagement": "engagement, thread engagement, thread depth, depth of thread",
    "limit": "limits, limit, tolerance, tolerances",
    "forming": "thread forming, thread forming tap, forming tap, form tap, roll tap, fluteless tap",
    "screw": "screw, screws, thread, threads, stud, studs, machine screw",
    "deep": "deep, depth, how deep, tapping depth",
    "carbide": "carbide, solid carbide",
    "nearest": "nearest, closest, near, nearest drill, closest drill, nearest drill to, nearest to, "
    "closest to",
    "head size": "head size, head, heads, head diameter, head dia",
    # bought things
    "nut": "nut, nuts, hexagon nut, hex nut, full nut",
    "washer": "washer, washers, plain washer, flat washer",
    "dowel": "dowel, dowels, dowel pin, dowel pins, parallel pin, dowel hole",
    "pin": "pin, pins",
    "taper-pin": "taper pin, taper pins, tapered pin",
    "spring-pin": "roll pin, roll pins, spring pin, spring pins, tension pin",
    "grub": "grub screw, grub screws, grub, grubs, set screw, socket set screw, setscrew",
    "pipe": "npt, npt taper, bspt, bsp taper, bsp tapered",
    "centre drill": "centre drill, center drill, combination drill, centre-drill, center-drill, "
    "centre drills",
    "press": "press, press fit, interference fit, force fit, drive fit, pressed",
    "slide": "slide, slide fit, sliding fit, slip fit, push fit, sliding",
    "pivot": "pivot, pivot fit, running fit, running, pivoting",
    "locate": "locate, location fit, locating fit, location, locating",
    # threads and the grades of a clearance hole
    "left": "left hand, left handed, left-hand, lh, l.h.",
    "right": "right hand, right handed, right-hand, rh, r.h.",
    "close": "close, close fit, tight, tight fit",
    "normal": "normal, normal fit, medium, medium fit, standard",
    "loose": "loose, loose fit, free fit",
    "coarse": "coarse, coarse pitch",
    "fine": "fine, fine pitch",
    # quick sums
    "circle": "bolt circle, pitch circle, pcd, p.c.d., bcd, bolt hole circle, hole circle, "
    "pitch circle diameter, circle of holes, circle, "
    "equally spaced",
    "arc": "arc",
    "grid": "grid, array",
    "spacing": "spacing, spaced, apart, pitched",
    "sine": "sine bar, sinebar, gauge blocks, slip gauges, slips, sine table, sine plate, sine bar stack, sine",
    "divide": "divide, dividing, division, index, indexing, dividing head, rotary table, worm",
    "turns": "turns, dial turns, handle turns, dial, handwheel, turns of the handle, leadscrew, "
    "lead screw, lead",
    "points": "three points, 3 points, touched points, centre from, centre of, center from, "
    "three touches, points, find centre, find center",
    "outside": "outside, boss, external",
    "inside": "inside, internal",
    "to": "to mm, to inch, to inches, in mm, in inch, in inches, mm, inch, inches, convert, "
    "in thou, to thou, thou, to in, nearest 64th, 64th, 64ths, in 64ths, "
    "as a fraction, "
    "fraction, fractional",
    # what is asked for at a bench and stands in no table yet
    "no table": "end mill, slot drill, milling cutter, fly cutter, split pin, rivet, circlip, "
    "keyway, clevis pin",
    "key": "key, hexagon key, hex key, allen key, allen, socket key, key size",
}
_FORMS = "unc unf unef un nc nf nef bsw whit whitworth bsf ba me bsp bspp bsc cei cycle"
FORMS = frozenset(_FORMS.split())
HEADS = {
    **HEAD_NAMES,
    "shcs": "socket head", "cap": "socket head", "capscrew": "socket head",
    "capscrews": "socket head", "allen screw": "socket head", "allen bolt": "socket head", "cap screws": "socket head",
    "socket": "socket head", "socket cap screw": "socket head", "socket screw": "socket head",
    "csk screw": "countersunk", "csk head": "countersunk", "csunk": "countersunk",
    "pan": "pan head", "pan screw": "pan head", "cheese": "cheese head",
    "bolts": "hexagon head", "bolt head": "hexagon head",
}  # fmt: skip
PIPES = {"npt taper": "npt", "bsp taper": "bspt", "bsp tapered": "bspt"}
SHORT_MATERIALS = {
    "steel": "mild steel", "ms": "mild steel", "iron": "cast iron", "ally": "aluminium",
    "ali": "aluminium",
    "alu": "aluminium", "alloy": "aluminium", "bronze bush": "gunmetal", "plastic": "acetal",
}  # fmt: skip
"""What a bare word is taken for; the answer names the material that it took."""
_HOLDING = """
a an the for of on with at to in into my i is are what whats what's which how much many big do
does need use using size sizes hole holes and from please get give me by dia diameter ø into
through it its be this that drillsize x bit hss table be should can fit fits mill metal as per -
& or any between rev min number show about tell find where want bar work material before centre
coordinates center long metric imperial shaft rod 6h 2b light
"""
HOLDING = frozenset(_HOLDING.split())
"""They hold a question together and name nothing."""


def _by_phrase() -> dict[str, frozenset[str]]:
    kinds: dict[str, set[str]] = {}
    for kind, phrases in _SAID.items():
        for phrase in phrases.split(", "):
            kinds.setdefault(phrase, set()).add(kind)
    for phrase in HEADS:
        kinds.setdefault(phrase, set()).add("head")
    return {phrase: frozenset(named) for phrase, named in kinds.items()}


PHRASES = _by_phrase()
ASK = 'ask as "M6 tap drill", "clearance 1/4", "drill 6 mm brass" or "6 holes on 50 pcd"'
SPOKEN = {
    "half": "1/2", "quarter": "1/4", "three quarter": "3/4", "three quarters": "3/4",
    "eighth": "1/8", "three eighths": "3/8", "five eighths": "5/8", "seven eighths": "7/8",
    "sixteenth": "1/16", "three sixteenths": "3/16", "five sixteenths": "5/16",
    "seven sixteenths": "7/16", "nine sixteenths": "9/16", "model engineer": "me",
    "two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7", "eight": "8",
    "nine": "9", "ten": "10", "twelve": "12", "quarter twenty": "1/4-20",
    "quarter-twenty": "1/4-20", "eight thirty-two": "8-32", "ten thirty-two": "10-32",
    "ten twenty-four": "10-24", "six thirty-two": "6-32",
}  # fmt: skip
"""Sizes as they are said; the longest first."""
SUMS = frozenset({"circle", "arc", "grid", "sine", "divide", "turns", "points"})
