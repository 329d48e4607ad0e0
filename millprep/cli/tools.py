"""`millprep tools PART`."""

from __future__ import annotations

from pathlib import Path

from millprep.base.outfile import sheet_mark
from millprep.cli.common import chosen_format, emit, findings_object, json_text, print_findings
from millprep.cli.preparation import prepare, wanted_setup


def run(
    part_path: Path, shop: str, setup: int | None, data_format: str | None, output: Path | None,
    force: bool,
) -> int:  # fmt: skip
    """The list is given whether or not the check would stop: shopping comes first."""
    from millprep.planning.belts import belts_of
    from millprep.planning.pull_list import pull_list
    from millprep.planning.stand_ins import stand_ins
    from millprep.writers.tools import tools_csv, tools_json, tools_text

    wanted = chosen_format(data_format, output, ("text", "json", "csv"))
    prepared = prepare(part_path, shop)
    part = prepared.part
    number = wanted_setup(setup, prepared.setup_numbers)
    pulled = pull_list(prepared.plan, number)
    cabinet = prepared.shop.cabinet
    instead = {one.tool: stand_ins(one, part, cabinet) for one in pulled if not one.in_drawer}
    belts = belts_of(prepared.plan, number)
    findings = [f for f in prepared.findings if f.kind in ("not-in-drawer", "bottoming-tap")]
    print_findings(findings)
    what = sheet_mark("tools", wanted, part.name, number)
    if wanted == "json":
        data = {
            **tools_json(part.name, part.mark, pulled, instead, belts),
            **findings_object(findings),
        }
        emit(json_text(data), output, force=force, what=what)
    elif wanted == "csv":
        emit(tools_csv(pulled, instead), output, force=force)
    else:
        text = tools_text(part.name, part.mark, pulled, instead, belts)
        emit(text, output, force=force, what=what)
    return 0
