"""What `import millprep` offers: bytes and findings as the command line has them, one error."""

import datetime
import json
import subprocess
import sys
from functools import reduce
from pathlib import Path
from typing import Any

import pytest
from jobs import RICH, RICH_STOCK, millprep, part_text

import millprep as public
from millprep import writers
from millprep.base.findings import Finding
from millprep.proven.sheets import SHEETS

DIALS = "[dials]\nx = { lead = 2.5, divisions = 100 }\ny = { lead = 2.5, divisions = 100 }\n"
TOO_DEEP = "[[hole]]\ndrill = 4\ndepth = 30\nat = [10, 10]\n"


@pytest.fixture
def part(in_folder: Path) -> str:
    Path("part.toml").write_text(part_text(RICH, RICH_STOCK))
    Path("shop.toml").write_text(DIALS)
    return "part.toml"


def test_import_loads_nothing_and_a_question_no_arrays() -> None:
    code = (
        "import sys, millprep; print([m for m in sys.modules if m.startswith('millprep.')]);"
        "millprep.look_up('M6');"
        "print([m for m in ('numpy', 'pydantic', 'typer') if m in sys.modules])"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout == "[]\n[]\n"


def test_every_name_is_there_and_no_other() -> None:
    assert all(getattr(public, name).__doc__ for name in public.__all__)
    with pytest.raises(AttributeError, match="sheets_of"):
        public.sheets_of  # noqa: B018


@pytest.mark.parametrize(
    ("sheet", "form", "ending"),
    [
        (name, form, {"text": "txt"}.get(form, form))
        for name, kind in SHEETS.items()
        for form in kind.forms
        if form != "served"  # to a phone, by the desk alone
    ]
    + [("tools", "json", "json"), ("inspect", "html", "html")],
)
def test_sheets_are_those_of_the_command_line(
    part: str, sheet: str, form: str, ending: str
) -> None:
    made = public.sheet(sheet, part, "shop.toml", form)
    assert made.data is not None
    out = Path(f"sheet.{ending}")
    assert millprep(sheet, part, "--shop", "shop.toml", "-o", out).status == 0
    assert out.read_bytes() == made.data
    assert public.write(made, out) == []


def test_programs_drawings_and_dry_runs_are_those_of_the_command_line(part: str) -> None:
    made = public.programs(part, file="part.nc")
    assert millprep("program", part, "-o", "part.nc").status == 0
    assert made.files
    assert public.write(made) == []
    today = datetime.date.today().isoformat()
    pages = public.drawings(part, ending=".svg", date=today)
    assert len(public.write(pages, "page.svg")) == len(pages) > 1
    assert millprep("drawing", part, "-o", "page.svg").out.count("unchanged") == len(pages)
    first = made.files[0]
    ran = public.dry_run([first.path], part=part)
    printed = millprep("dryrun", first.path, "--part", part)
    assert ran.text() == printed.out
    given = public.dry_run([(str(first.path), first.data)], part=part)
    assert given.json() == ran.json()


def test_cures_are_asked_for(in_folder: Path) -> None:
    """A hole whose wall is too thin may be cured; the findings are the same without."""
    Path("thin.toml").write_text(part_text("[[hole]]\ndrill = 6\ndepth = 5\nat = [3.1, 20]\n"))
    bare, cured = public.check("thin.toml"), public.check("thin.toml", cures=True)
    assert [finding.kind for finding in bare] == [finding.kind for finding in cured]
    assert all(finding.cure is None for finding in bare)
    assert any(finding.cure is not None for finding in cured)
    assert cured == public.plan("thin.toml").findings


def test_a_part_that_lies_askew(part: str) -> None:
    given = public.Askew("0,-5 40,-4.8", setup=1)
    made = public.sheet("listing", public.plan(part, given=given), form="json")
    ran = millprep(
        "listing",
        part,
        "--skew",
        "0,-5 40,-4.8",
        "--setup",
        "1",
        "--format",
        "json",
        "-o",
        "a.json",
    )
    assert ran.status == 0
    assert made.data is not None
    assert json.loads(Path("a.json").read_text())["setups"] == json.loads(made.data)["setups"][:1]


def test_a_stop_keeps_sheet_and_program_back(in_folder: Path) -> None:
    Path("deep.toml").write_text(part_text(TOO_DEEP))
    sheet, programs = public.sheet("listing", "deep.toml"), public.programs("deep.toml")
    assert sheet.data is None
    assert programs.files == ()
    stops = [
        finding for finding in public.check("deep.toml", cures=True) if finding.severity == "stop"
    ]
    assert stops
    for made in (sheet, programs):
        assert {*stops} <= {*made.findings}
        with pytest.raises(public.MillprepError) as caught:
            public.write(made, "out.txt")
        assert {*stops} <= {*caught.value.findings}
    assert [path.name for path in Path().iterdir()] == ["deep.toml"]


@pytest.mark.parametrize(
    ("sheet", "way", "figure", "by"),
    [
        ("listing", ("setups", 0, "steps", 0), "x", 0.1),
        ("dials", ("setups", 0, "steps", 0, "x"), "turns", 1),
        ("markout", ("standings", 0, "heights", 0), "height_mm", 0.1),
    ],
)
def test_no_sheet_is_had_around_the_witness(
    part: str,
    monkeypatch: pytest.MonkeyPatch,
    sheet: str,
    way: tuple[Any, ...],
    figure: str,
    by: float,
) -> None:
    """A writer broken on purpose: one figure."""
    sound = writers.written

    def broken(*given: Any) -> str:
        data = json.loads(sound(*given))
        place = reduce(lambda inside, step: inside[step], way, data)
        place[figure] += by
        return json.dumps(data)

    assert public.sheet(sheet, part, "shop.toml", "json").data is not None
    monkeypatch.setattr(writers, "written", broken)
    made = public.sheet(sheet, part, "shop.toml", "json")
    assert made.data is None
    assert any(finding.severity == "stop" for finding in made.findings)


def test_one_kind_of_error(part: str) -> None:
    for call, message in (
        (lambda: public.look_up("zzzz"), "is in no table"),
        (lambda: public.read_part("none.toml"), "does not exist"),
        (lambda: public.read_shop("none.toml"), "does not exist"),
        (lambda: public.sheet("lisitng", part), "no such word"),
        (lambda: public.sheet("bench", part, form="pdf"), "no such word"),
        (lambda: public.sheet("markout", part, only="a"), "takes no only"),
        (lambda: public.sheet("markout", part, gauge_offset="far"), "far"),
        (lambda: public.plan(part, order="size"), "no such word"),
        (lambda: public.drawings(part, ending=".gif"), "no drawing"),
        (lambda: public.dry_run(["x.nc"], stock="1"), "is not a size"),
        (lambda: public.match(part, "x.csv", play="-1"), "is below 0"),
        (lambda: public.verdicts(part, "x.csv", date="soon"), "is no day"),
    ):
        with pytest.raises(public.MillprepError) as caught:
            call()
        assert message in str(caught.value)
        assert all(isinstance(finding, Finding) for finding in caught.value.findings)
