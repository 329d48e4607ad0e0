"""Any document as pages to print: they say what its text says, wherever a page ends."""

from __future__ import annotations

import io
import shutil
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from jobs import EXAMPLE_PARTS, RICH, RICH_STOCK, millprep, part_of, part_text, shop_of
from pdf_pages import assert_clear, changed, exchanged, moved, rearranged, swap, without
from pypdf import PdfReader, PdfWriter
from pypdf.generic import ArrayObject, FloatObject, NameObject, NumberObject

from millprep.base import wording
from millprep.base.findings import Finding
from millprep.base.marks import is_own_unedited
from millprep.base.records import replace
from millprep.infiles import read_part
from millprep.model.part import Part
from millprep.reading.pages.ink import BaseLine, Mark, pages_of
from millprep.reading.pages.lines import read_lines
from millprep.reading.pages.pdf_lines import pdf_lines
from millprep.reading.pages.printed import UnreadableSheet
from millprep.reading.pages.sheet import ReadRow, ReadSheet
from millprep.reading.pages.slots import Said, names_by_letters
from millprep.sheets.document import (
    Column,
    Document,
    Field,
    Page,
    Row,
    Sayer,
    Section,
    Sentence,
    Table,
)
from millprep.sheets.markout import make_mark_sheet
from millprep.witness.markout import check_markout
from millprep.writers.document_pdf import document_pdf

say = Sayer("trial")
WORD, FIGURE = Column(30, gap=2), Column(10, right=True, gap=2)
NAMES = ("pivot", "a name of many short words, one hole", "W" * 40, "-3 4.5", "step", "[ ] 1 2.0")


@pytest.fixture(scope="module", autouse=True)
def _trial_wording(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """The wording of the sheet of trial beside that of all others."""
    folder = tmp_path_factory.mktemp("templates")
    for path in (*wording.FOLDER.glob("*.txt"), Path(__file__).parent / "templates/trial.txt"):
        shutil.copy(path, folder)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(wording, "FOLDER", folder)
        yield


def steps(count: int, names: Sequence[str], pecks: int) -> Table:
    rows = [
        Row(
            say(
                "steps row",
                step=number,
                hole=names[number % len(names)],
                x=f"{-5 * number:.3f}",
                y=f"{7.25 * number:.3f}",
                z="-16.600",
                turns="4.5" if number % 5 == 0 else None,
            ),
            (say("pecks", pecks=[f"{-one}.000" for one in range(1, pecks + 1)]),)
            if number % 3 == 0
            else (),
        )
        for number in range(1, count + 1)
    ]
    columns = (Column(8, right=True), WORD, FIGURE, FIGURE, FIGURE, Column(gap=2))
    units = {"x_unit": "mm", "y_unit": "mm", "x_axis": "x", "y_axis": "y", "z_axis": "z"}
    return Table("steps", say("steps head", operation="drill", **units), tuple(rows), columns)


def dialled(count: int, names: Sequence[str]) -> Table:
    rows = [
        Row(
            say(
                "dialled row",
                step=number,
                hole=names[number % len(names)],
                x_turns=str(number - 4),
                x="62.5",
                y_turns="-128",
                y="99",
                z="-123.475",
            )
        )
        for number in range(1, count + 1)
    ]
    columns = (Column(8, right=True), WORD, *[FIGURE] * 5)
    axes = {"x_axis": "x", "y_axis": "y", "z_axis": "z"}
    return Table("dialled", say("dialled head", operation="ream", **axes), tuple(rows), columns)


def where(count: int, names: Sequence[str]) -> Table:
    rows = [
        Row(
            say(
                "where row",
                hole=names[number % len(names)],
                x="60.000",
                x_by_rule="2 3/8",
                x_beyond="+0.011",
                y="-14.285",
                y_by_rule="14.3",
                y_beyond="-0.008",
            )
        )
        for number in range(count)
    ]
    head = say("where head", x_axis="x", x_unit="mm", y_axis="y", y_unit="mm")
    return Table("where", head, tuple(rows), (WORD, *[FIGURE] * 6), boxes=False)


def sizes(count: int, names: Sequence[str]) -> Table:
    """Rows of a line of words and one of figures."""
    rows = [
        Row(
            say(
                "sizes row",
                number=number,
                hole=names[number % len(names)],
                pin="3.3 mm",
                other=names[0],
                expect="25.400",
                least="25.350",
                most="25.450",
            )
        )
        for number in range(1, count + 1)
    ]
    columns = (Column(4, right=True), Column(gap=2), *[FIGURE] * 3)
    return Table("sizes", say("sizes head"), tuple(rows), columns, folds=2)


def trials(count: int, names: Sequence[str]) -> Table:
    """Rows that run on."""
    rows = [Row(say("trials each", number=n, hole=names[n % len(names)])) for n in range(count)]
    head = say("trials tried", face="top", gauge="6 mm", where="down")
    return Table("trials", head, tuple(rows), (Column(2), Column(20)), boxes=False)


def trial(
    count: int, names: Sequence[str] = NAMES[:2], lines: int = 1, pecks: int = 3, setups: int = 1
) -> Document:
    """lines : sentences before the tables, which push the ends of pages along"""
    zeros = [
        say("zero", axis="x", face="left", finder="10 mm", side="left hand", set_to="-5.000")
        for _ in range(lines)
    ]
    lock = say("lock", axis="z", locks=count)
    looks = [
        say("look", spots=count, hole=name, face="front", rule="8.0 mm") for name in names[:1] * 2
    ]
    pages = [
        Page(
            say("title", part="Trial", number=number, of=setups, face="top", where="up"),
            (
                say("stock-block", material="brass", sizes=["16", "40"], unit="mm"),
                say("marked", part_mark="33c7c5", units="mm"),
                say("note", note="words upon words " * 9 + "end"),
            ),
            (
                Section((say.field("ZERO", *zeros, lock),)),
                Section((say.field("WHERE", say("where", far="farther")), where(count, names))),
                *(
                    Section(
                        (
                            say.field(
                                "TOOL {number:count}",
                                say("tool", size=f"{tool} mm", point="118"),
                                say("speed", rpm="700", hole_count=count),
                                number=tool,
                            ),
                            table,
                            Field(say("LOOK"), tuple(looks)),
                        )
                    )
                    for tool, table in (
                        (1, steps(count, names, pecks)),
                        (12, dialled(count, names)),
                        (123, sizes(count, names)),
                        (4, trials(count, names)),
                    )
                ),
            ),
        )
        for number in range(1, setups + 1)
    ]
    cautions = [say("caution", caution=f"Glasses on, {one}.") for one in "abc"]
    return Document(
        "trial", "mm", tuple(pages), foot=(Section((say.field("TAKE CARE", *cautions),)),)
    )


def names_of(names: Sequence[str]) -> Any:
    return names_by_letters(hole=names)


def letters(words: str) -> str:
    """Without blanks: a line may be broken at any."""
    return "".join(words.split())


def told(sentence: Sentence) -> tuple[str, str]:
    return sentence.slug, letters("".join(sentence.cells))


def items_of(section: Section) -> Iterator[Any]:
    for item in section.items:
        yield from items_of(item) if isinstance(item, Section) else [item]


def content_of(document: Document) -> Any:
    """Page by page, section by section: the labels and sentences, and the rows with their heads."""
    pages = []
    for page in document.pages:
        is_last = page is document.pages[-1]
        sections: list[Any] = [([*map(told, page.heading)], [])]
        for section in (*page.sections, *(document.foot if is_last else ())):
            said: list[Any] = []
            rows: list[Any] = []
            for item in items_of(section):
                if isinstance(item, Field):
                    said += [told(item.label)] if item.label.template.slots else []
                    said += map(told, item.sentences)
                else:
                    rows += [
                        (told(row.cells), [*map(told, row.below)], item.head and told(item.head))
                        for row in item.rows
                    ]
            sections.append((said, rows))
        pages.append((told(page.title), sections))
    return pages


def read(said: Said | None) -> tuple[str, str] | None:
    return said and (said.slug, letters(said.text))


def content_read(sheet: ReadSheet) -> Any:
    """The same of a sheet that was read."""

    def row(one: ReadRow) -> Any:
        return read(one.said), [*map(read, one.below)], read(one.head)

    return [
        (
            read(page.title),
            [([*map(read, one.said)], [*map(row, one.rows)]) for one in page.sections],
        )
        for page in sheet.pages
    ]


def assert_says_all(document: Document, names: Sequence[str] = NAMES) -> bytes:
    """The file, read back as what the document says."""
    data = document_pdf(document)
    sheet = read_lines(pdf_lines(data), document.sheet, names_of(names))
    assert content_read(sheet) == content_of(document)
    return data


def pages_in(data: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(data)).pages]


@pytest.mark.parametrize("count", [0, 1, 2, 25])
@pytest.mark.parametrize("names", [NAMES, NAMES[:1], NAMES[2:3]], ids=["many", "short", "wide"])
def test_pages_say_all_that_the_document_says(count: int, names: Sequence[str]) -> None:
    assert_says_all(trial(count, names, setups=2), names)


@pytest.mark.parametrize("lines", range(50))
def test_a_page_may_end_anywhere(lines: int) -> None:
    assert_says_all(trial(9, lines=lines))


def test_a_row_longer_than_a_page_goes_on() -> None:
    data = assert_says_all(trial(3, pecks=560))
    assert len(PdfReader(io.BytesIO(data)).pages) > 2


def lines_of(ink: Sequence[Any]) -> list[Any]:
    return [one for one in ink if one.y_mm > 18]


def is_head(one: Any) -> bool:
    return isinstance(one, BaseLine) and all(words.size_pt <= 10 for words in one.words)


@pytest.mark.parametrize("lines", range(0, 50, 7))
def test_nothing_stands_apart_from_what_it_belongs_to(lines: int) -> None:
    """No label, head or rule ends a page, what hangs on a row begins none."""
    for ink in pages_of(document_pdf(trial(9, lines=lines))):
        *_, before, last = lines_of(ink)
        assert isinstance(last, Mark) == (isinstance(last, Mark) and last.kind == "end")
        assert not is_head(last)
        assert isinstance(last, Mark) or not last.words[0].words.startswith("TOOL")
        assert isinstance(last, Mark) or not is_head(before)
        first = lines_of(ink)[0]
        assert isinstance(first, Mark) or abs(first.words[0].x_mm - 40) > 0.5


def test_a_page_that_goes_on_says_so_under_the_same_heads() -> None:
    pages = pages_in(document_pdf(trial(60)))
    going_on = [page.split("\n") for page in pages if page.split("\n")[0].startswith("TOOL 1 ")]
    assert len(going_on) == 2
    for label, shared, heads, *_ in going_on:
        assert label == "TOOL 1 drill 1 mm, point 118 deg continued"
        assert shared == "700 rev/min; 60 holes"
        assert heads == "step drill at X mm Y mm quill to Z"


def test_every_page_of_the_document_begins_afresh_and_says_whose_it_is() -> None:
    pages = pages_in(document_pdf(trial(9, setups=3)))
    firsts = [page for page in pages if page.startswith("Trial")]
    assert len(firsts) == 3
    setup = 0
    for number, page in enumerate(pages, 1):
        foot = page.strip().split("\n")[-1]
        setup += page.startswith("Trial")
        whose = f"Trial, setup {setup} of 3: TOP up; part mark 33c7c5"
        assert foot == f"{whose} page {number} of {len(pages)}"


def test_figures_are_large_enough_to_be_read_at_arms_length() -> None:
    """At least 12 pt (common practice); what warns is bold."""
    for ink in pages_of(document_pdf(trial(25, NAMES))):
        for line in lines_of(ink):
            is_taken_up = isinstance(line, BaseLine) and line.words[-1].words == "continued"
            if isinstance(line, BaseLine) and not is_head(line) and not is_taken_up:
                assert all(one.size_pt >= 12 for one in line.words[1:-1])
                said = [one for one in line.words if one.words.startswith("LOCK ")]
                assert all(one.is_bold for one in said)


@pytest.mark.needs("pdftotext")
@pytest.mark.parametrize("name", ["W" * 40, NAMES[1], "short"])
def test_no_word_lies_on_another_or_off_the_page(name: str, tmp_path: Path) -> None:
    assert_clear(document_pdf(trial(9, (name, "x"))), tmp_path)
    document = trial(3)
    page = replace(
        document.pages[0],
        title=say("title", part=name * 3, number=1, of=1, face="bottom", where="up"),
    )
    assert_clear(assert_says_all(replace(document, pages=(page,))), tmp_path)


def test_a_table_that_no_page_holds_is_refused() -> None:
    document, wide = trial(1), dialled(1, NAMES)
    cells = replace(wide.rows[0].cells, slots={**wide.rows[0].cells.slots, "z": "1" * 80})
    page = replace(document.pages[0], sections=(Section((replace(wide, rows=(Row(cells),)),)),))
    with pytest.raises(ValueError, match="a table of 7 columns has no room"):
        document_pdf(replace(document, pages=(page,)))


# The marking-out list, against its part.


@cache
def part() -> Part:
    return part_of(RICH, RICH_STOCK)


@cache
def sheet() -> bytes:
    return document_pdf(make_mark_sheet(part(), shop_of(), "mm"))


def check(data: bytes) -> list[Finding]:
    return check_markout(data, "pdf", part(), file="list")


@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("path", EXAMPLE_PARTS, ids=lambda path: path.stem)
@pytest.mark.needs("pdftotext")
def test_lists_of_the_example_parts_agree(path: Path, units: Any, tmp_path: Path) -> None:
    example = read_part(path)[0]
    data = document_pdf(make_mark_sheet(example, shop_of(), units))
    assert check_markout(data, "pdf", example, file="list") == []
    assert_clear(data, tmp_path)


def test_the_command_writes_a_list_that_is_known_again(in_folder: Path) -> None:
    path = EXAMPLE_PARTS[0]
    assert millprep("markout", path, "--format", "pdf", "-o", "list.pdf").status == 0
    data = Path("list.pdf").read_bytes()
    assert is_own_unedited(data)
    assert not is_own_unedited(data.replace(b"/Length", b"/Lenght", 1))
    again = millprep("markout", path, "-o", "list.pdf")
    assert "unchanged" in again.err  # no clock in the bytes


def drawn_with(*operations: tuple[list[Any], bytes]) -> Any:
    """More is drawn at the end of the page."""

    def change(page: list[Any]) -> bool:
        page += [([*map(FloatObject, numbers)], name) for numbers, name in operations]
        return True

    return change


def unticked(operations: list[Any]) -> bool:
    """The first box to tick is gone."""
    at = [index for index, (_, name) in enumerate(operations) if name == b"re"]
    del operations[at[0] : at[0] + 2]
    return True


def unruled(operations: list[Any]) -> bool:
    """The end of a row is gone."""
    at = [
        index
        for index, (operands, name) in enumerate(operations)
        if name == b"m" and abs(float(operands[0]) * 25.4 / 72 - 22) < 1
    ]
    del operations[at[3] : at[3] + 3]
    return True


CHANGES: dict[str, tuple[Any, str]] = {
    "a height": (swap(r"^10\.51$", "10.54"), "hole-off"),
    "two heights exchanged": (exchanged("10.51", "40.00"), "hole-off"),
    "a height moved to another column": (moved(r"^10\.51$", 60), "unreadable-sheet"),
    "a height moved a little": (moved(r"^10\.51$", 3), "unreadable-sheet"),
    "a height moved to another line": (moved(r"^10\.51$", 0, -17), "unreadable-sheet"),
    "a name in no column": (moved("^pinch$", -9), "unreadable-sheet"),
    "a head moved": (moved("^gauge at$", 60), "unreadable-sheet"),
    "two heads exchanged": (exchanged("gauge at", "line"), "unreadable-sheet"),
    "words off the page": (moved("^sunk$", 400), "unreadable-sheet"),
    "words on others": (moved("^sunk$", -20), "unreadable-sheet"),
    "a row missing": (without("tiny"), "unreadable-sheet"),
    "a name": (swap("^tiny$", "tinny"), "hole-extra"),
    "the part mark": (swap("part mark ", "part mark 0"), "unreadable-sheet"),
    "the page's number": (swap("page 2 of", "page 3 of"), "unreadable-sheet"),
    "whose page it is": (swap("^Trial, marking", "Tryal, marking"), "unreadable-sheet"),
    "a label": (swap("^PUNCH$", "POP"), "unreadable-sheet"),
    "a standing": (swap("^STAND 1$", "STAND 4"), "wrong-numbering"),
    "a face": (swap("LEFT on the plate", "TOP on the plate"), "wrong-figure"),
    "no box to tick": (unticked, "unreadable-sheet"),
    "a row without end": (unruled, "unreadable-sheet"),
    "another operator": (drawn_with(([], b"f")), "unreadable-sheet"),
    "a page that is turned": (drawn_with(([0, 1, 1, 0, 0, 0], b"cm")), "unreadable-sheet"),
    "a pale pen": (drawn_with(([1], b"G")), "unreadable-sheet"),
    "a broad pen": (drawn_with(([20], b"w")), "unreadable-sheet"),
    "a line through words": (
        drawn_with(([60, 700], b"m"), ([500, 700], b"l"), ([], b"S")),
        "unreadable-sheet",
    ),
    "words out of their place": (drawn_with(([0, 4], b"Td"), ([1, 4], b"Td")), "unreadable-sheet"),
}


@pytest.mark.parametrize("what", CHANGES)
def test_changed_pages_are_caught(what: str) -> None:
    change, kind = CHANGES[what]
    found = check(changed(sheet(), change))
    assert kind in {one.kind for one in found}, found
    assert all(one.severity == "stop" and one.file == "list" for one in found)


def test_a_page_lost_or_out_of_its_place_is_caught() -> None:
    assert check(rearranged(sheet(), lambda n: [*range(n)])) == []
    for order in (lambda n: [*range(n - 1)], lambda n: [1, 0, *range(2, n)]):
        assert [one.kind for one in check(rearranged(sheet(), order))] == ["unreadable-sheet"]


@pytest.mark.parametrize("key", ["/Rotate", "/CropBox", "/UserUnit", "/Annots"])
def test_what_turns_cuts_or_covers_a_page_is_refused(key: str) -> None:
    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(sheet())))
    held = [NumberObject(0), NumberObject(0), NumberObject(595), NumberObject(300)]
    value = ArrayObject(held) if key in ("/CropBox", "/Annots") else NumberObject(90)
    writer.pages[0][NameObject(key)] = value
    out = io.BytesIO()
    writer.write(out)
    assert [one.kind for one in check(out.getvalue())] == ["unreadable-sheet"]


def test_what_is_no_sheet_is_refused(in_folder: Path) -> None:
    assert millprep("drawing", EXAMPLE_PARTS[0], "--setup", 1, "-o", "page.pdf").status == 0
    drawing = Path("page.pdf").read_bytes()
    for data in (b"", b"%PDF-1.3\n", sheet()[:2000], b"TRIAL   marking out", drawing):
        with pytest.raises(UnreadableSheet):
            pdf_lines(data)


def again(old: str, new: str) -> Any:
    """Words on a page that goes on, where they stand first."""

    def change(operations: list[Any]) -> bool:
        found = [index for index, (_, name) in enumerate(operations) if name == b"Tj"]
        return (
            bool(found)
            and operations[found[2]][0][0].original_bytes == b"continued"
            and swap(old, new)(operations)
        )

    return change


@pytest.mark.parametrize(
    "change",
    [
        again("^TOOL 1$", "TOOL 2"),
        again("point 118 deg", "point 90 deg"),
        again("^continued$", "begun"),
    ],
    ids=["label", "tool", "continued"],
)
def test_what_a_page_repeats_is_held_against_the_page_before(change: Any) -> None:
    data = document_pdf(trial(60, NAMES[:1]))
    with pytest.raises(UnreadableSheet):
        read_lines(pdf_lines(changed(data, change)), "trial", names_of(NAMES))


def test_other_heads_on_a_page_that_goes_on_are_those_of_its_rows() -> None:
    document = trial(60, NAMES[:1])
    data = changed(document_pdf(document), again("^X mm$", "Y mm"))
    sheet = read_lines(pdf_lines(data), "trial", names_of(NAMES))
    assert content_read(sheet) != content_of(document)


def test_letters_that_a_pdf_has_not_are_told(in_folder: Path) -> None:
    hole = '[[hole]]\nname = "втулка"\ndrill = 5\nat = [20, 20]\ndepth = 8\n'
    Path("trial.toml").write_text(part_text(hole, RICH_STOCK), encoding="utf-8")
    ran = millprep("markout", "trial.toml", "-o", "list.pdf")
    assert ran.status == 0, ran.err
    assert 'note: PDF has no в т у л к а: each is shown there as "?"' in ran.err
    assert any("  ??????" in line for _, line in pdf_lines(Path("list.pdf").read_bytes()))
