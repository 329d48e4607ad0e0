"""Controls described at random, and what becomes of a part's programs. No tests here."""

import random
from pathlib import Path

from millprep.base.findings import MillprepError
from millprep.infiles import read_part, read_shop
from millprep.proven.dryrun import dry_run
from millprep.proven.program import programs

_FEW = ["G0", "G1", "G4", "G20", "G21", "G90", "G91", "M0", "M2", "M3", "M5"]
_MORE = [
    *_FEW,
    "G17",
    "G40",
    "G43",
    "G49",
    "G53",
    "G54",
    "G80",
    "G94",
    "M6",
    "M7",
    "M8",
    "M9",
    "M30",
]
CODES = [
    ", ".join(f'"{code}"' for code in codes)
    for codes in (_FEW, _MORE, _MORE[:-1], [c for c in _MORE if c not in ("M3", "M5", "G4")])
]
KEYS: dict[str, list[str]] = {
    "units": ['"mm"', '"inch"', '"none"'],
    "strict": ["false", "true"],
    "cycles": ["true", "false", '["G81"]', '["G81", "G83"]', '["G73", "G82", "G84", "G85"]'],
    "comments": ['"( )"', '";"', '"none"'],
    "tool_change": ['"M6"', '"stop"', '"files"'],
    "change_goes_up": ["false", "true"],
    "zero_in_stop": ['"ask"', "true", "false"],
    "length_offset": ["true", "false"],
    "tapping": ['"floating"', '"rigid"', '"reversing head"', '"none"', '"by hand at the hole"'],
    "axes": ['"xyz"', '"xyz"', '"xy"'],
    "xy_feed": ["100", "5000"],
    "quill_stop": ["true", "false", "false"],
    "home": ['"unknown"', '"none"'],
    "spindle": ['"driven"', '"switched"', '"by hand"'],
    "tool_numbers": ["true", "false", "true"],
    "codes": ['"all"', '"all"', *(f"[{codes}]" for codes in CODES)],
    "backlash": ["{ x = 0.05, y = 0.04 }", "{ y = 0.1, z = 0.1 }", "{ x = 0.01 }"],
    "backlash_compensated": ["false", "false", "true"],
    "peck_retract": ['"r"', '"clear"'],
    "dwell": ['"s"', '"ms"'],
    "line_numbers": ["false", "true"],
    "program_number": ["false", "1", "1234", "9999"],
    "stop_message": ['"same line"', '"line before"', '"(MSG, )"'],
    "coolant": ['"none"', '"M7"', '"M8"'],
    "arcs": ['"centre"', '"absolute centre"', '"radius"'],
    "decimals": ["{ mm = 2, inch = 3 }", "{ mm = 3 }", "{ inch = 4 }", "{ mm = 4, inch = 6 }"],
    "line_end": ['"lf"', '"crlf"'],
}


TRIAL = """
[[hole]]
name = "screw"
tap = "M5"
depth = 8
at = [[12, 12], [48, 28]]
[[hole]]
name = "pivot"
ream = "6 mm"
at = [30, 20]
depth = "through"
[[hole]]
name = "cap"
clear = "M4"
counterbore = "M4 socket head"
at = [48, 12]
depth = "through"
"""


def description(seed: int) -> dict[str, str]:
    """About half of the keys, each with a value of those it may have."""
    chance = random.Random(seed)
    share = chance.choice([0.1, 0.2, 0.4, 0.7])
    return {key: chance.choice(KEYS[key]) for key in KEYS if chance.random() < share}


_TOOLS = [
    'kind = "spot drill"\ndiameter = 10', 'kind = "drill"\ndiameter = 4.2',
    'kind = "drill"\ndiameter = 4.5', 'kind = "drill"\ndiameter = 5.8',
    'kind = "counterbore"\ndiameter = 8', 'kind = "reamer"\ndiameter = 6',
    'kind = "tap"\nthread = "M5"',
]  # fmt: skip
_TABLE = "".join(
    f"[[tool]]\nnumber = {n}\nlength = {40 + 7 * n}\n{tool}\n" for n, tool in enumerate(_TOOLS, 2)
)
MILLS = [
    "", "", "[mill]\nchange_place = [-20, 30]\n", "[mill]\nspindle = { min = 90, max = 4000 }\n",
    "[mill]\nchange_height = 35\n", _TABLE, _TABLE + "[mill]\nchange_place = [70, -5]\n",
    '[mill]\nhead_moves = "loses"\nquill_travel = 45\n',
]  # fmt: skip
"""What the rest of the shop file may say."""


def mill(seed: int) -> str:
    return random.Random(-seed - 1).choice(MILLS)


def judged(
    part: Path,
    control: dict[str, str],
    folder: Path,
    rest: str = "",
    places: str | None = None,
    pieces: int | None = None,
) -> str:
    """ "refused", "not to be had" or "made"; anything else is a failed assertion."""
    shop = folder / "shop.toml"
    keys = "".join(f"{key} = {value}\n" for key, value in control.items())
    shop.write_text(f"[control]\n{keys}{rest}")
    try:
        read = read_shop(str(shop))
    except MillprepError as error:
        for finding in error.findings:
            assert finding.kind == "contradiction", finding
            named = [key for key in KEYS if f"{key} = " in finding.message]
            assert len(named) >= 2, finding.message
        return "refused"
    made_part, _ = read_part(part)
    try:
        made = programs(made_part, read, file=folder / "out.nc", places=places, pieces=pieces)
    except MillprepError as error:
        kinds = {one.kind for one in error.findings}
        assert kinds == {"not-to-be-had"} or (pieces and kinds == {"contradiction"})
        return "not to be had"
    assert not [one for one in made.findings if one.severity == "stop"], made.findings
    assert made.files
    by_setup: dict[int, list[Path]] = {}
    for one in made.files:
        by_setup.setdefault(one.setup, []).append(one.path)
        for path, data in one.written().items():
            path.write_bytes(data)
    for setup, files in by_setup.items():
        report = dry_run(files, made_part, read, setup=setup, places=places, pieces=pieces)
        bad = [one for one in report.findings if one.severity != "note"]
        assert not bad, bad
    return "made"


_TOUCHED_OFF = {"length_offset": "false", "zero_in_stop": "true"}
NAMED: dict[str, dict[str, str]] = {
    "nothing said": {},
    "no cycles, by stops": {"cycles": "false", "tool_change": '"stop"', **_TOUCHED_OFF},
    "a file a tool": {"tool_change": '"files"', "length_offset": "false"},
    "inches": {"units": '"inch"', "decimals": "{ inch = 4 }"},
    "few cycles": {"cycles": '["G81", "G83"]', "peck_retract": '"clear"', "dwell": '"ms"'},
    "no comments": {"comments": '"none"', "tool_change": '"stop"', **_TOUCHED_OFF},
    "few codes": {"codes": f"[{CODES[0]}]", "cycles": "false", "tool_change": '"stop"',
                  **_TOUCHED_OFF},
    "no tool numbers": {"tool_numbers": "false", "tool_change": '"stop"', **_TOUCHED_OFF},
    "switched": {"spindle": '"switched"', "tool_change": '"stop"', "comments": '";"'},
    "by hand": {"spindle": '"by hand"', "tool_change": '"stop"', **_TOUCHED_OFF},
    "loose": {"backlash": "{ x = 0.05, y = 0.08 }", "line_numbers": "true"},
    "loose, no cycles": {"backlash": "{ y = 0.4 }", "cycles": "false", "coolant": '"M8"'},
    "taps at the hole": {"tapping": '"by hand at the hole"', "program_number": "10"},
    "taps at the hole, files": {"tapping": '"by hand at the hole"', "tool_change": '"files"'},
    "reversing head": {"tapping": '"reversing head"', "stop_message": '"(MSG, )"'},
    "quill by hand": {"axes": '"xy"'},
    "quill and spindle by hand": {"axes": '"xy"', "spindle": '"by hand"', "quill_stop": "true",
                                  "backlash": "{ x = 0.1, y = 0.1 }"},
    "quill by hand, a card": {"axes": '"xy"', "comments": '"none"', "tool_numbers": "false",
                              "spindle": '"switched"', "units": '"inch"'},
    "quill by hand, files": {"axes": '"xy"', "tool_change": '"files"', "tapping": '"none"'},
}  # fmt: skip
"""Controls as there are, by what is said of them."""
