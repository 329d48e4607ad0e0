"""The order of a whole job: what waits for what, what is left for later, what a change spoils."""

from __future__ import annotations

import json
import shlex
import shutil
import tempfile
from functools import cache, partial
from pathlib import Path
from typing import Any, cast

import pytest
from slot_faults import bytes_of, sentences_let_through, sentences_of, slots_let_through

from millprep.assembly.job_order import Route, route_of
from millprep.base.findings import WordError, has_stop
from millprep.base.wording import wording
from millprep.cli import main
from millprep.proven.assembly import FORMS, changed_route, judged, numbers_of, plans_of, route
from millprep.proven.files import shop_of
from millprep.sheets.document import Document
from millprep.sheets.route import make_route
from millprep.witness.route import check_route

WINCH = Path("parts/winch/winch.toml")
ENGINE = Path("parts/twin-engine-assembly.toml")


def winch(folder: Path, *changes: tuple[str, str], more: str = "") -> Path:
    """The example with words of its file exchanged."""
    shutil.copytree(WINCH.parent, folder / "winch", dirs_exist_ok=True)
    path = folder / "winch" / "winch.toml"
    text = path.read_text()
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path.write_text(text + more)
    return path


def steps_of(path: Path) -> list[dict[str, Any]]:
    data = route(path, form="json").data
    assert data is not None
    return cast("list[dict[str, Any]]", json.loads(data)["steps"])


def called(step: dict[str, Any]) -> tuple[str, str]:
    return step["what"], step.get("part") or step.get("stack") or ""


def test_the_winch_is_made_in_an_order_that_a_person_would_choose() -> None:
    """Worked out by hand from what waits for what."""
    steps = steps_of(WINCH)
    at = {called(step): step["n"] for step in steps}
    assert at["drill", "frame-left.toml"] < at["measure", "frame-left.toml"]
    assert at["measure", "frame-left.toml"] < at["match", "frame-right.toml"]
    assert at["match", "frame-right.toml"] < at["drill", "frame-right.toml"]
    reamed = at["stack", "bearings"]
    assert reamed > max(
        at["drill", f"{name}.toml"] for name in ("frame-left", "frame-right", "bar")
    )
    assert at["other", "bar.toml"] < at["drill", "bar.toml"]
    assert steps[reamed - 1]["holes"] == [
        "left: drum shaft", "right: drum shaft", "left: pinion shaft", "right: pinion shaft",
    ]  # fmt: skip
    assert at["measure", "bearings"] == reamed + 1
    assert any(tool.startswith("reamer 3/8 in") for tool in steps[reamed - 1]["tools"])
    left = steps[at["drill", "frame-left.toml"] - 1]
    assert {"drum shaft": reamed, "pinion shaft": reamed}.items() <= left["left_for"].items()
    assert "pawl pivot" in left["holes"]
    assert steps[at["drill", "bar.toml"] - 1]["pieces"] == 3
    assert called(steps[-1]) == ("assemble", "")


@pytest.mark.parametrize("path", [WINCH, ENGINE], ids=["winch", "engine"])
def test_every_hole_is_finished_once_and_nothing_comes_too_early(path: Path) -> None:
    """Counted over the parts, beside what the witness counts."""
    steps, assembly = steps_of(path), judged(path).assembly
    finished: list[tuple[str, str]] = []
    for step in steps:
        assert all(0 < before < step["n"] for before in step["after"])
        assert all(later > step["n"] for later in step["left_for"].values())
        if step["what"] in ("drill", "finish"):
            names = [member.name for member in assembly.members if member.file == step["part"]]
            finished += [(name, hole) for name in names for hole in step["holes"]]
        elif step["what"] == "stack":
            finished += [tuple(words.split(": ", 1)) for words in step["holes"]]
    wanted = [(m.name, hole.name) for m in assembly.members for hole in m.part.holes]
    assert sorted(finished) == sorted(wanted)


def test_what_is_carried_over_waits_and_is_finished_after() -> None:
    steps = steps_of(WINCH)
    at = {called(step): step["n"] for step in steps}
    carried = at["carry", "foot screws, left"]
    assert carried > at["stack", "bearings"] and carried > at["drill", "foot.toml"]
    finish = next(one for one in steps if called(one) == ("finish", "frame-left.toml"))
    assert finish["n"] > at["carry", "foot screws, right"]  # both are spotted while the bars are in
    assert finish["command"].endswith("frame-left.toml --only 'foot screw'")
    left = steps[at["drill", "frame-left.toml"] - 1]
    assert left["left_for"]["foot screw 1"] == finish["n"]


def test_the_command_of_a_step_gives_its_sheet(tmp_path: Path) -> None:
    """All but those that take readings, which nobody has taken yet."""
    path = winch(tmp_path)
    for step in steps_of(path):
        if step["command"] and ".csv" not in step["command"]:
            words = [*shlex.split(step["command"]), "-o", str(tmp_path / "sheet.txt"), "--force"]
            with pytest.raises(SystemExit, match="0"):
                main(words)


def test_stacks_that_wait_for_each_other_are_told(tmp_path: Path) -> None:
    """A bar's screw on the left waits for one stack, that on the right for the other."""
    second = 'stack = "bearings"\nholes = ["left: pinion shaft", "right: pinion shaft"]\n'
    bars = '"rear bar", "front bar", "top bar"'
    apart = second.replace("bearings", "others") + f'members = ["left", {bars}, "right"]\n'
    waits = [
        (
            words,
            f'{words}carried = {{ from = "{side}", by = "transfer punch" }}\nafter = "{stack}"\n',
        )
        for side, stack in (("left", "bearings"), ("right", "others"))
        for words in (f'through = "{side}: bar screw"\n',)
    ]
    handed = route(winch(tmp_path, (second, apart), *waits))
    assert handed.data is None
    (told,) = [one.message for one in handed.findings if one.kind == "waits-in-a-circle"]
    assert told.startswith("each waits for the other: ")
    assert "bearings waits until" in told and "others waits until" in told


@pytest.mark.parametrize("path", [WINCH, ENGINE], ids=["winch", "engine"])
def test_a_page_to_print_is_handed_over(path: Path) -> None:
    assert route(path, form="pdf").data is not None


def apart(folder: Path) -> Path:
    """The wheel's screws are marked out with a rule: they are not likely to meet the drum's."""
    marked = '"wheel.toml", made_by = "rule"'
    return winch(folder, ('wheel       = "wheel.toml"', f"wheel = {{ part = {marked} }}"))


def test_a_part_that_is_not_likely_to_fit_is_matched_to_its_mate(tmp_path: Path) -> None:
    steps = steps_of(apart(tmp_path))
    at = {called(step): step["n"] for step in steps}
    assert at["measure", "wheel.toml"] < at["match", "drum.toml"] < at["drill", "drum.toml"]
    assert "--as-measured" not in steps[at["drill", "drum.toml"] - 1]["command"]
    assert steps[at["drill", "wheel.toml"] - 1]["command"].startswith("markout ")


def documents() -> dict[str, tuple[Route, Document]]:
    made = {}
    with tempfile.TemporaryDirectory() as folder:
        for name, path in (("winch", WINCH), ("engine", ENGINE), ("apart", apart(Path(folder)))):
            of = judged(path)
            ordered = route_of(of)
            plans = plans_of(ordered, shop_of("metric"))
            for form in FORMS:
                laid = make_route(ordered, plans, of.findings, with_remarks=form != "text")
                made[f"{name} {form}"] = ordered, laid
    return made


laid_out = cache(documents)


def is_stopped(of: Route, document: Document, form: str) -> bool:
    data, assembly = bytes_of(document, form), of.job.assembly
    findings = of.job.judged.findings
    return data is None or has_stop(
        check_route(data, cast("Any", form), assembly, findings, file="the route")
    )


@pytest.mark.parametrize(
    ("name", "form"), [("winch", "text"), ("winch", "json"), ("winch", "html"), ("apart", "text")]
)
def test_a_changed_slot_is_stopped(name: str, form: str) -> None:
    of, document = laid_out()[f"{name} {form}"]
    stopped = partial(is_stopped, of, form=form)
    assert not stopped(document)
    assert (
        slots_let_through(document, stopped, lambda _, name: form == "json" and name[0] == "_")
        == []
    )
    assert set(sentences_let_through(document, stopped)) <= {"visit-lacks"}


def test_every_template_is_said_somewhere() -> None:
    said = {one.slug for _, document in laid_out().values() for one in sentences_of(document)}
    wanted = {one.slug for group in wording("route").values() for one in group.templates}
    assert sorted(wanted - said) == []


def test_a_place_that_moves_spoils_what_is_drilled() -> None:
    change = 'left: bar screw: at = [["1/2", "3/8"], ["3 5/8", "3/8"], ["3 1/4", "2 5/8"]]'
    told, _ = changed_route(WINCH, [change], "1-4", form="json")
    steps = {called(one): one for one in json.loads(told)["steps"]}
    left = steps["drill", "frame-left.toml"]
    (hole,) = left["holes"]
    assert (hole["hole"], hole["what"], hole["fate"]) == ("bar screw 1", "place", "lost")
    assert hole["moved_mm"] == pytest.approx(25.4 / 8)  # 3/8 to 1/2 in
    assert left["done"] and left["lost"]
    assert not any(one["lost"] for one in steps.values() if not one["done"])


@pytest.mark.parametrize(
    ("change", "fate"),
    [
        ('left: bar screw: clear = "M6"', "to open out"),  # 5.5 to 6.6
        ('left: bar screw: clear = "M4"', "lost"),  # 5.5 to 4.5: a hole does not become smaller
        ('drum: bore: fit = "H8"', None),  # 0 to +18 um are within 0 to +27
        ('drum: bore: fit = "E8"', "to open out"),  # +32 to +59
        ('drum: bore: fit = "F7"', "to look at"),  # +16 to +34
        ("drum: bore: at = [0.05, 0]", "to look at"),  # within the general 0.1
        ('drum: wheel screw: depth = "14 mm"', "to go on with"),
        ('drum: wheel screw: depth = "9 mm"', "to look at"),
    ],
)
def test_what_becomes_of_a_hole_that_is_there(change: str, fate: str) -> None:
    told, _ = changed_route(WINCH, [change], "1-9", form="json")
    steps = {called(one): one for one in json.loads(told)["steps"]}
    part = "drum.toml" if change.startswith("drum") else "frame-left.toml"
    fates = {hole["fate"] for hole in steps["drill", part]["holes"]}
    assert fates == {fate}


def test_what_comes_from_a_hole_that_moves_is_told(tmp_path: Path) -> None:
    """The foot's screws are drilled, and spotted through into the frames."""
    moved = 'foot: frame screw: grid.start = ["1 in", -28.675]'
    told, _ = changed_route(WINCH, [moved], "1-13", form="json")
    steps = [one for one in json.loads(told)["steps"] if one["done"]]
    fates = {(one["what"], hole["fate"]) for one in steps for hole in one["holes"]}
    assert {("carry", "to look at"), ("finish", "lost")} <= fates


def test_a_pilot_that_is_there_is_told(tmp_path: Path) -> None:
    pilot = 'gap     = "scrap block"\n'
    path = winch(tmp_path, (pilot, f'{pilot}leave   = {{ left = "pilot" }}\npilot   = "5 mm"\n'))
    told, _ = changed_route(path, ["left: drum shaft: at = [1.26, 1.75]"], "1-3", form="json")
    steps = [one for one in json.loads(told)["steps"] if one["done"]]
    assert {hole["fate"] for one in steps for hole in one["holes"] if "drum" in hole["hole"]} == {
        "to look at"
    }


def test_a_change_that_no_done_step_feels_spoils_nothing() -> None:
    told, _ = changed_route(WINCH, ['pawl: pivot: fit = "H7"'], "1-3")
    assert "No piece is spoiled" not in told and "DONE" not in told
    assert "pawl.toml: drill" in told


@pytest.mark.parametrize(
    ("words", "steps"), [("", ()), ("1-3", (1, 2, 3)), ("2, 4-5 7", (2, 4, 5, 7))]
)
def test_steps_that_are_done(words: str, steps: tuple[int, ...]) -> None:
    assert numbers_of(words, 7) == frozenset(steps)


@pytest.mark.parametrize("words", ["0", "8", "3-1", "one", "1-", "2--3"])
def test_steps_that_there_are_not(words: str) -> None:
    with pytest.raises(WordError, match="is no step of this route"):
        numbers_of(words, 7)
