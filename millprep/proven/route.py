"""The whole job of an assembly, in order, read back and asked by the second witness."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from millprep.base.findings import chosen_word, has_stop, worst_first
from millprep.base.outfile import sealed, sheet_mark
from millprep.proven.assembly import judged
from millprep.proven.letters import ENCODINGS
from millprep.proven.measured import proven
from millprep.proven.sheets import Handed

if TYPE_CHECKING:
    from millprep.assembly.job_order import Route
    from millprep.model.shop import Shop
    from millprep.planning import Plan

FORMS = ("text", "json", "html", "pdf")


def route(file: Path | str, shop: Shop | Path | str = "metric", form: str = "text") -> Handed:
    """Which part first, which holes now and which later, and every sheet's command.

    Nothing is handed over where steps wait for each other, or the parts do not go together.
    Raises MillprepError with the faults of all the files.
    """
    from millprep.assembly.job_order import route_of
    from millprep.canvas.lettering import in_letters
    from millprep.proven.files import shop_of
    from millprep.sheets.route import make_route
    from millprep.witness.route import check_route
    from millprep.writers import written

    chosen_word("form", form, FORMS)
    found = shop_of(shop)
    of = judged(file, found)
    ordered = route_of(of)
    findings = tuple(worst_first([*ordered.findings, *of.findings]))
    if has_stop(findings):
        return Handed(None, findings, None)
    name = of.assembly.name
    document = make_route(ordered, plans_of(ordered, found), findings, with_remarks=form != "text")
    data = sealed(written("route", document, form), sheet_mark("route", form, name))
    shows = (lambda words: in_letters(words, ENCODINGS[".pdf"])) if form == "pdf" else str
    disagreements = check_route(
        data,
        form,  # type: ignore[arg-type]  # one of FORMS
        of.assembly,
        findings,
        file=f"the route of {name}",
        shows=shows,
    )
    return proven(data, findings, disagreements, None)


def plans_of(ordered: Route, shop: Shop) -> dict[str, Plan]:
    """Of each part file; a part is planned once."""
    from millprep.planning import make_plan

    return {file: make_plan(members[0].part, shop) for file, members in ordered.job.pieces.items()}
