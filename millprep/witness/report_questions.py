"""What is asked of tools lists, inspection sheets, match sheets and reports of assemblies.

As `questions`, whose table these are part of. Imports nothing.
"""

from __future__ import annotations

_NOT_COMPARED = "not compared: "
_BY_SUMS = "by the witness's own sums from the hole, the missing tool and the one of the drawer"
_INSTEAD = {
    "rank": "one after the other",
    "instead": "a tool of the drawer",
    "kind": "a tool of the drawer",
}

REPORTS: dict[str, dict[str, str]] = {
    # the tools list
    "tools-title": {"part": "the part's name", "part_mark": "the mark of the part file"},
    "tools row": {
        "tool_number": "one after the other",
        "tool": "in the drawer by name and each figure, or marked; of a size that its holes want",
    },
    "tool-missing": {"_drawer": "= NOT IN THE DRAWER"},
    "tool-alone": {"_near": "= nothing in the drawer"},
    "tool-use": {
        "operations": "each is wanted by a hole and done by such a tool; none is lacking",
        "_word": "setups where there are several",
        "setups": "those whose faces its holes are worked from",
        "deepest_mm": "between the depth that the holes want and what the trade adds",
        "holes": "each wants the tool; every hole has a tool for each of its operations",
    },
    **{
        f"instead-{name}": {**_INSTEAD, **dict.fromkeys(slots.split(), _BY_SUMS), **sound}
        for name, slots, sound in (
            (
                "tap-drill",
                "percent own_percent cut_percent",
                {"_factor": "= 1.299", "_when": "= after"},
            ),
            ("ream-drill", "cut left verdict least most", {}),
            ("tight-drill", "room thread grade hole", {"verdict": "= tighter"}),
            ("loose-drill", "room thread grade hole", {"verdict": "= looser"}),
            ("clearance-drill", "room thread grade", {}),
            ("between-drill", "room thread grade hole wider_grade wider_hole", {}),
            ("plain-drill", "off way cut limits", {}),
            ("reamer", "off way limits", {}),
            ("bored", "", {}),
            ("drill-for-reamer", "off way", {"_round": "= not round enough"}),
            ("tap", "screw off way pitch wanted_pitch flanks wanted_flanks", {}),
            ("short-cone", "off", {}),
            ("same-cone", "angle", {}),
            ("other-cone", "angle wanted_angle where", {}),
            ("wide-recess", "off", {}),
            ("milled", "off", {}),
            ("started", "", {}),
        )
    },
    "tools-all": {"tool_count": "how many follow", "_all": "= all in the drawer"},
    "tools-missing": {
        "tool_count": "how many follow",
        "_where": "= not in the drawer",
        "missing_count": "how many of them are marked",
    },
    "belt": {"_least": "= half its", "_most": "= 1.15"},
    "belt-step": {
        "setup": "in order; each tool once in each of its setups",
        "rpm": "a speed of the mill, from half to 1.15 of what is right for each tool",
        "_word": "tools where there are several",
        "tools": "those under power, each once a setup",
        "_outside": "=  (no step suits ",
        "outside": "tools whose speed the step is not right for, and no others",
    },
    "belt-sooner": {
        "changes": "counted along the steps",
        "changes_at_best": _NOT_COMPARED
        + "the best step of each tool is a choice; no fewer than changes",
        "_gain": "= cut",
        "_longer": _NOT_COMPARED + "what a choice that was not taken would save",
        "_way": "= sooner",
    },
    "belt-same": {
        "changes": "counted along the steps",
        "changes_at_best": _NOT_COMPARED
        + "the best step of each tool is a choice; no fewer than changes",
        "_gain": "= save no time",
    },
}
