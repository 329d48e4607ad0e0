"""The tools to pull, in order of use, with what could stand in for those that are missing, and the
belt. Imports layers 0 to 4."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from millprep.base.findings import Finding
from millprep.base.units import Length, Units
from millprep.model.part import Part
from millprep.model.tools import Cutter
from millprep.planning.belts import Belts
from millprep.planning.pull_list import Pulled, StandIn
from millprep.sheets.document import (
    Column,
    Document,
    Page,
    Row,
    Sayer,
    Section,
    Sentence,
    Shown,
    Table,
)
from millprep.sheets.heading import burning
from millprep.sheets.words import tool_line

_COLUMNS = (Column(4, right=True, gap=0), Column(gap=2))
_CSV = (
    "tool_number",
    "tool",
    "diameter_mm",
    "in_drawer",
    "operations",
    "setups",
    "holes",
    "deepest_mm",
    "stand_ins",
)
_DIGITS = {"instead-reamer": 3, "instead-short-cone": 1, "instead-wide-recess": 1}
_SHOWN = {
    **dict.fromkeys(("percent", "cut_percent"), "{:.0f}"),
    **dict.fromkeys(("cut", "left", "most", "room", "off"), "{:.{digits}f} mm"),
    **dict.fromkeys(("hole", "wider_hole", "angle", "wanted_angle"), "{:g}"),
    "least": "{:.2f}",
    "pitch": "{:.3g}",
    "wanted_pitch": "{:.3g} mm",
}
"""How a figure of a stand-in is shown, by its slot; else it is a word."""
_WORTH_TELLING_S = 0.5

StandIns = Mapping[Cutter, Sequence[StandIn]]
"""Of the tools that the drawer lacks, best first."""

_say = Sayer("tools")


def make_tools_list(
    part: Part,
    pulled: Sequence[Pulled],
    stand_ins: StandIns,
    belts: Belts | None,
    findings: Sequence[Finding],
) -> Document:
    """What to lay out on the bench, with a box to tick."""
    missing = [tool_line(one.tool) for one in pulled if not one.in_drawer]
    counted = _say("tools-all", tool_count=len(pulled))
    if missing:
        counted = _say("tools-missing", tool_count=len(pulled), missing_count=len(missing))
    rows = tuple(_row(one, stand_ins.get(one.tool, ()), part.units) for one in pulled)
    sections = [
        Section((Table("tools", None, rows, _COLUMNS),)),
        Section((_say.field("COUNT", counted),)),
    ]
    if belts is not None:
        sections.append(_belt(belts))
    page = Page(
        _say("tools-title", part=part.name, part_mark=part.mark),
        burning(_say, part),
        tuple(sections),
        also={"missing": missing, "belts": None if belts is None else _belts_json(belts)},
    )
    return Document("tools", "mm", (page,), tuple(findings), csv=("tools", _CSV))


def _row(one: Pulled, instead: Sequence[StandIn], units: Units) -> Row:
    ranked = [_stand_in(rank, each) for rank, each in enumerate(instead, 1)]
    lacking = () if one.in_drawer else (_say("tool-missing"), *(ranked or [_say("tool-alone")]))
    use = _say(
        "tool-use",
        operations=one.operations,
        _word="setups" if len(one.setups) > 1 else "setup",
        setups=one.setups,
        deepest_mm=Shown(f"{Length(one.deepest_mm, units):1}", round(one.deepest_mm, 3)),
        holes=one.holes,
    )
    also: dict[str, Any] = {
        "kind": one.tool.kind,
        "diameter_mm": one.tool.diameter_mm,
        "in_drawer": one.in_drawer,
        **({} if ranked else {"stand_ins": []}),
    }
    csv = {
        "operations": "; ".join(one.operations),
        "holes": "; ".join(one.holes),
        "deepest_mm": f"{one.deepest_mm:.3f}",
        "stand_ins": " | ".join(str(each).partition(". ")[2] for each in ranked),
    }
    cells = _say("tools row", tool_number=one.number, tool=tool_line(one.tool))
    tapped = [
        _say(
            "tap-percent",
            thread=thread.designation,
            percent=f"{thread.percent_thread(one.tool.diameter_mm):.0f}",
        )
        for thread in one.threads
    ]
    return Row(cells, (*lacking, use, *tapped), also, csv)


def _stand_in(rank: int, one: StandIn) -> Sentence:
    """What could be used instead, and what comes of it."""
    digits = _DIGITS.get(one.says, 2)
    figures = {
        name: _SHOWN[name].format(value, digits=digits) if name in _SHOWN else value
        for name, value in one.figures.items()
    }
    said = _say(one.says, rank=rank, instead=one.tool.words, kind=one.tool.kind, **figures)
    consequence = str(said).partition(f" {one.tool.kind}: ")[2]
    also = {
        "tool": tool_line(one.tool),
        "diameter_mm": one.tool.diameter_mm,
        "consequence": consequence,
    }
    return _say(one.says, **said.slots, also=also)


def _belt(belts: Belts) -> Section:
    """The belt, from setting to setting, and what its few changes cost."""
    steps = [
        _say(
            "belt-step",
            setup=step.setup,
            rpm=f"{step.rpm:g}",
            _word="tools" if len(step.tools) > 1 else "tool",
            tools=step.tools,
            _outside=" (no step suits " if step.outside else None,
            outside=step.outside or None,
        )
        for step in belts.steps
    ]
    counts = {"changes": belts.changes, "changes_at_best": belts.changes_at_best}
    cost = _say("belt-same", **counts)
    if belts.longer_s >= _WORTH_TELLING_S:
        cost = _say("belt-sooner", **counts, _longer=f"{belts.longer_s:.0f}")
    return Section(
        (_say.field("BELT", _say("belt")), _say.field("STEPS", *steps), _say.field("CHANGES", cost))
    )


def _belts_json(belts: Belts) -> dict[str, Any]:
    steps = [
        {
            "setup": step.setup,
            "rpm": step.rpm,
            "tools": list(step.tools),
            "outside": list(step.outside),
        }
        for step in belts.steps
    ]
    return {
        "steps": steps,
        "changes": belts.changes,
        "changes_at_best": belts.changes_at_best,
        "longer_s": round(belts.longer_s, 1),
    }
