"""The pages under docs/ and the README say what the program does: their commands are run.

Three kinds of text are held in step. A `console` block's commands (`$ millprep ...`) are run in a
folder with a copy of parts/, and what follows each is what it must print; so are the lines of a
`python` block that follow `>>> `, one session a page. A block `toml NAME` or
`csv NAME` is the text of that file for the commands after it; `toml added to NAME` goes at its end;
a comment `<!-- in NAME: OLD -> NEW -->` changes a line of it. Text between `<!-- made: WHAT -->`
and `<!-- end -->` is made from the package. With MILLPREP_UPDATE_DOCS=1 the pages are rewritten.
"""

import ast
import contextlib
import doctest
import importlib
import io
import os
import re
import shlex
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
import typer

import millprep
from millprep.base import bounds, kinds
from millprep.base.records import field_names
from millprep.cli import main
from millprep.cli.app import app
from millprep.lookup import lookup
from millprep.lookup.pages import text_of
from millprep.reading.gcode import codes
from millprep.reading.gcode.order import g_word
from millprep.witness.questions import all_questions

ROOT = Path(__file__).parent.parent
PAGES = sorted([*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md")])
UPDATE = os.environ.get("MILLPREP_UPDATE_DOCS") == "1"

_BLOCK = re.compile(
    r"^```(?P<info>[^\n]*)\n(?P<body>.*?)^```$"
    r"|^<!-- in (?P<file>\S+): (?P<old>.+?) -> (?P<new>.+?) -->$",
    re.MULTILINE | re.DOTALL,
)
_MADE = re.compile(r"(<!-- made: (?P<what>[\w ]+) -->\n)(?P<body>.*?)(<!-- end -->)", re.DOTALL)
SHOWN_OF_A_GROUP = 1  # questions at the bench
ALLOWED_IN_FILES = ("A part, before it is cut", "Parts that go together", "Setting up")
_LINK = re.compile(r"\[[^\]]+\]\((?!https?:)(?P<target>[^)#\s]*)(?:#(?P<anchor>[^)\s]+))?\)")


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    """An empty folder with a copy of the example parts."""
    shutil.copytree(ROOT / "parts", tmp_path / "parts")
    return tmp_path


_PLAIN = re.compile(
    r"millprep (?P<words>(?:'[^']*'|\"[^\"$`]*\"|[^'\"|;<>&$`*])*?)"
    r"(?:(?P<is_quiet> 2>/dev/null)(?: \| (?P<rest>.*))?)?"
)
_SURROUNDINGS = {
    "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}",
    "COLUMNS": "80",
    "NO_COLOR": "1",
    "LC_ALL": "C.UTF-8",
}


def _printed(command: str, folder: Path) -> str:
    """What a shell command prints, both streams as a terminal shows them. What millprep prints by
    itself, or hands on alone, it prints in this process: to start it takes as long as to work."""
    plain = _PLAIN.fullmatch(command)
    if plain is None:
        return _by_shell(command, folder)
    out = _printed_here(shlex.split(plain["words"]), folder, is_quiet=plain["is_quiet"] is not None)
    return out if plain["rest"] is None else _by_shell(plain["rest"], folder, out)


def _by_shell(command: str, folder: Path, given: str = "") -> str:
    run = subprocess.run(
        ["bash", "-c", command],
        cwd=folder,
        env=os.environ | _SURROUNDINGS,
        input=given.encode(),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        check=False,
    )
    return run.stdout.decode()


def _printed_here(words: list[str], folder: Path, *, is_quiet: bool) -> str:
    out = io.StringIO()
    err = io.StringIO() if is_quiet else out
    with contextlib.chdir(folder), pytest.MonkeyPatch.context() as patch:
        for name, value in _SURROUNDINGS.items():
            patch.setenv(name, value)
        streams = contextlib.redirect_stdout(out), contextlib.redirect_stderr(err)
        with streams[0], streams[1], contextlib.suppress(SystemExit):
            main(words)
    return out.getvalue()


def _replayed(body: str, folder: Path) -> str:
    """A console block as it comes out now."""
    commands = [line[2:] for line in body.splitlines() if line.startswith("$ ")]
    return "".join(f"$ {command}\n{_printed(command, folder)}" for command in commands)


def _typed_in(body: str, folder: Path, names: dict[str, object]) -> str:
    """A session of Python as it comes out now."""
    shown = ""
    for example in doctest.DocTestParser().get_examples(body):
        printed = io.StringIO()
        with contextlib.chdir(folder), contextlib.redirect_stdout(printed):
            exec(compile(example.source, "<page>", "single"), names)
        first, *more = example.source.splitlines()
        shown += "\n".join([f">>> {first}", *(f"... {line}".rstrip() for line in more)]) + "\n"
        shown += printed.getvalue()
    return shown


def _as_it_comes_out(page: str, folder: Path) -> str:
    """A page with its commands run anew, top to bottom in one folder."""
    names: dict[str, object] = {}

    def block(match: re.Match[str]) -> str:
        if match["file"]:
            path = folder / match["file"]
            text = path.read_text()
            assert text.count(match["old"]) == 1, f"{match['old']!r} is not once in {path.name}"
            path.write_text(text.replace(match["old"], match["new"]))
            return match[0]
        info, body = match["info"], match["body"]
        if info == "console":
            return f"```console\n{_replayed(body, folder)}```"
        if info == "python":
            return f"```python\n{_typed_in(body, folder, names)}```"
        if info.startswith("toml added to "):
            with (folder / info.removeprefix("toml added to ")).open("a") as stream:
                stream.write("\n" + body)
        elif info.startswith(("toml ", "csv ")):
            (folder / info.split(" ", 1)[1]).write_text(body)
        return match[0]

    return _BLOCK.sub(block, page)


def _same_or_updated(path: Path, fresh: str) -> None:
    assert "Traceback" not in fresh, path.name
    if UPDATE:  # at once: another test of this page may be reading it
        written = path.with_suffix(f".{os.getpid()}")
        written.write_text(fresh)
        written.replace(path)
    assert fresh == path.read_text(), f"{path.name} is stale: run with MILLPREP_UPDATE_DOCS=1"


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.name)
def test_commands_print_what_the_page_shows(path: Path, bench: Path) -> None:
    _same_or_updated(path, _as_it_comes_out(path.read_text(), bench))


def test_console_blocks_are_found() -> None:
    """A page whose blocks the pattern misses would pass untested."""
    tutorial = (ROOT / "docs" / "tutorial.md").read_text()
    infos = [match["info"] for match in _BLOCK.finditer(tutorial) if match["info"]]
    assert infos.count("console") >= 6
    assert tutorial.count("\n$ ") == sum(
        match["body"].count("$ ") for match in _BLOCK.finditer(tutorial) if match["info"]
    )


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.name)
def test_no_command_that_picks_lines_has_lost_them(path: Path) -> None:
    """A label that changes on a sheet would leave an empty block, and nobody would see it."""
    for block in _BLOCK.finditer(path.read_text()):
        for shown in (block["body"] or "").split("\n$ ") if block["info"] == "console" else ():
            command, _, printed = shown.strip().partition("\n")
            picks = re.search(r"\| (?:sed|grep|head|tail|cut)\b", command)
            assert printed or not picks, f"{path.name}: {command} shows nothing"


def _table_of_kinds() -> str:
    """Every kind under its heading of the source, in that order, but for those that the table of
    dangers explains; of those that no part file allows the name alone: there the message says all.
    """
    explained = _kinds_of_dangers()
    sections: list[tuple[str, list[str]]] = []
    for line in Path(kinds.__file__).read_text().splitlines():
        heading, kind = re.match(r"    # (.+)$", line), re.match(r'    "([a-z-]+)":', line)
        if heading:
            sections.append((heading[1][0].upper() + heading[1][1:], []))
        elif kind and kind[1] not in explained:
            sections[-1][1].append(kind[1])
    return "\n".join(f"### {title}\n\n{_kinds_shown(title, names)}" for title, names in sections)


def _kinds_shown(title: str, names: list[str]) -> str:
    if title not in ALLOWED_IN_FILES:
        return ", ".join(f"`{name}`" for name in names) + ".\n"
    rows = "".join(f"| `{name}` | {kinds.KINDS[name]} |\n" for name in names)
    return f"| kind | what it says |\n|---|---|\n{rows}"


def _kinds_of_dangers() -> set[str]:
    page = (ROOT / "docs" / "findings.md").read_text()
    table = page.split("## How bad each danger is")[1].split("\n## ")[0]
    return set(re.findall(r"`([a-z0-9-]+)`", table)) & set(kinds.KINDS)


def _table_of_bounds() -> str:
    """Every constant of `bounds` with the sentence below it; a blank line begins a table."""
    source = (ROOT / "millprep" / "base" / "bounds.py").read_text()
    tables: list[list[str]] = []
    end = 0
    body = ast.parse(source).body[2:]
    assert len(body) % 2 == 0, "a constant without its row, or the other way round"
    for constant, row in zip(body[::2], body[1::2], strict=True):
        assert isinstance(constant, ast.Assign) and isinstance(row, ast.Expr)
        what, _, beyond = ast.literal_eval(row.value).partition(" | ")
        name = constant.targets[0].id  # type: ignore[attr-defined]
        if constant.lineno > end + 1:
            tables.append([])
        tables[-1].append(f"| {getattr(bounds, name):,} | {what} | {beyond} |\n")
        end = row.end_lineno or 0
    head = "| at most | of what | beyond it |\n|---:|---|---|\n"
    names = (
        "Files that you write",
        "Parts, shops and assemblies",
        "Words and sizes",
        "Programs",
        "The desk",
        "What is drawn, shown and reckoned",
    )
    return "\n".join(
        f"## {name}\n\n{head}{''.join(rows)}" for name, rows in zip(names, tables, strict=True)
    )


def _table_of_codes() -> str:
    """The codes that are read, in the order of their source: a row for each comment there."""
    rows: list[tuple[str, list[str], list[str]]] = []
    table = ""
    for line in Path(codes.__file__).read_text().splitlines():
        begins = re.match(r"(G_CODES|M_CODES|LETTERS):", line)
        table = begins[1] if begins else table if line.startswith("    ") else ""
        words, key = re.match(r"    # (.+)", line), re.match(r'    (?:(\d+)|"([FST])"): Code', line)
        if table and words:
            rows.append((words[1], [], []))
        elif table and key:
            number = int(key[1] or 0)
            name = key[2] or (g_word(number) if table == "G_CODES" else f"M{number}")
            is_refused = table == "G_CODES" and number in codes.STRICT_REFUSES_G
            is_refused |= table == "M_CODES" and number in codes.STRICT_REFUSES_M
            rows[-1][1].append(name)
            rows[-1][2].extend([name] if is_refused else [])
    count = sum(len(names) for _, names, _ in rows)
    assert count == len(codes.G_CODES) + len(codes.M_CODES) + len(codes.LETTERS)
    head = "| codes | meaning | strict |\n|---|---|---|\n"
    return head + "".join(
        f"| {', '.join(names)} | {words} |{_refused(names, refused)} |\n"
        for words, names, refused in rows
    )


def _refused(names: list[str], refused: list[str]) -> str:
    if not refused:
        return ""
    return " refused" if refused == names else f" {', '.join(refused)} refused"


def _table_of_names() -> str:
    """Every public name, with the first line of its help."""
    return "".join(
        f"| `{name}` | {str(getattr(millprep, name).__doc__).splitlines()[0]} |\n"
        for name in millprep.__all__
    )


def _table_of_what_is_not_compared() -> str:
    """Every reason for which the witness asks nothing of a slot, with the sentences it is of."""
    why: dict[str, list[str]] = {}
    for slug, asked in all_questions().items():
        for question in asked.values():
            if question.startswith("not compared: "):
                why.setdefault(question.removeprefix("not compared: "), []).append(slug)
    rows = (f"| {reason} | {', '.join(dict.fromkeys(of))} |\n" for reason, of in why.items())
    return "| why | sentence or row |\n|---|---|\n" + "".join(rows)


def _table_of_bench_questions() -> str:
    """The first question of each group of the list, with the first line of its answer."""
    groups = tomllib.loads((ROOT / "tests" / "bench_questions.toml").read_text())["group"]
    shown = (ask for group in groups for ask, _ in group["questions"][:SHOWN_OF_A_GROUP])
    rows = "".join(f"| `{ask}` | {_first_line(ask)} |\n" for ask in shown)
    return f"| question | answer |\n|---|---|\n{rows}"


def _first_line(ask: str) -> str:
    return text_of(lookup(ask), width=200).splitlines()[0]


MADE = {
    "bench questions": _table_of_bench_questions,
    "not compared": _table_of_what_is_not_compared,
    "bounds": _table_of_bounds,
    "codes": _table_of_codes,
    "kinds of findings": _table_of_kinds,
    "public names": _table_of_names,
}


def _made(page: str) -> str:
    return _MADE.sub(lambda m: f"{m[1]}{MADE[m['what']]()}{m[4]}", page)


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.name)
def test_made_tables_are_in_step(path: Path) -> None:
    _same_or_updated(path, _made(path.read_text()))


def test_every_kind_is_on_the_page() -> None:
    page = (ROOT / "docs" / "findings.md").read_text().split("<!-- made: kinds of findings -->")[1]
    shown = re.findall(r"^\| `([a-z-]+)` \||`([a-z-]+)`[,.]", page, re.MULTILINE)
    listed = [row or name for row, name in shown]
    explained = _kinds_of_dangers()
    assert listed == [kind for kind in kinds.KINDS if kind not in explained]


def _name_only(value: object) -> str:
    """A test's name must not hold a set: two workers would order it in two ways."""
    return value if isinstance(value, str) else ""


def _field_tables() -> list[tuple[str, set[str]]]:
    """(dotted name of a dataclass, the fields that its table in joints.md shows)."""
    page = (ROOT / "docs" / "developers" / "joints.md").read_text()
    return [
        (
            match[1],
            set(re.findall(r"`(\w+)`", " ".join(re.findall(r"^\| (`.+?) \|", match[2], re.M)))),
        )
        for match in re.finditer(r"<!-- fields: ([\w.]+) -->\n\n((?:\|.*\n)+)", page)
    ]


@pytest.mark.parametrize(("name", "shown"), _field_tables(), ids=_name_only)
def test_fields_of_the_joints_are_all_shown(name: str, shown: set[str]) -> None:
    module, _, joint = name.rpartition(".")
    described = getattr(importlib.import_module(module), joint)
    assert shown == {*field_names(described)}


def _commands() -> Iterator[tuple[str, set[str]]]:
    """(name, its long options) of every command."""
    group = typer.main.get_command(app())
    for name, command in group.commands.items():
        options = {o for p in command.params for o in p.opts if o.startswith("--")}
        yield name, options - {"--help"}


@pytest.mark.parametrize(("name", "options"), list(_commands()), ids=_name_only)
def test_every_command_and_option_is_described(name: str, options: set[str]) -> None:
    page = (ROOT / "docs" / "command-line.md").read_text()
    section = re.search(rf"^## {name}\b.*?(?=^## |\Z)", page, re.MULTILINE | re.DOTALL)
    assert section, f"no section on {name}"
    shown = set(re.findall(r"`(?:-\w, )?(--[a-z-]+)", section[0]))
    assert shown == options


def test_the_page_describes_no_command_that_is_not_there() -> None:
    page = (ROOT / "docs" / "command-line.md").read_text()
    named = re.findall(r"^## ([a-z]+) ", page, re.MULTILINE)
    assert sorted(named) == sorted(name for name, _ in _commands())


def _anchors(path: Path) -> set[str]:
    """Headings as a page viewer links to them."""
    headings = re.findall(r"^#+ (.+)$", path.read_text(), re.MULTILINE)
    return {re.sub(r"[^\w -]", "", heading).lower().replace(" ", "-") for heading in headings}


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.name)
def test_links_lead_somewhere(path: Path) -> None:
    for match in _LINK.finditer(path.read_text()):
        target = path.parent / match["target"] if match["target"] else path
        assert target.exists(), f"{path.name}: {match['target']} does not exist"
        if match["anchor"]:
            assert match["anchor"] in _anchors(target), f"{path.name}: no {match['anchor']}"


def test_the_files_that_developers_are_sent_to_are_there() -> None:
    page = (ROOT / "DEVELOPERS.md").read_text()
    named = set(re.findall(r"`((?:[\w.]+/)+(?:\w+\.\w+)?)`", page))
    assert len(named) > 50
    assert not {name for name in named if not (ROOT / "millprep" / name).exists()} - {
        name for name in named if (ROOT / name).exists()
    }


def test_the_page_for_developers_is_short() -> None:
    assert (ROOT / "DEVELOPERS.md").stat().st_size <= 12 * 1024


def test_the_readme_leads_to_every_page() -> None:
    """Those of docs/developers from DEVELOPERS.md, or from a page that a user reads."""
    led_to = {
        (path.parent / match["target"]).resolve()
        for path in (ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "docs").glob("*.md"))
        for match in _LINK.finditer(path.read_text())
        if path.parent == ROOT or "developers/" in match["target"]
    }
    assert {*PAGES} - led_to <= {ROOT / "README.md"}


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.stem)
def test_no_table_says_a_thing_twice(path: Path) -> None:
    """Two rows on one key drift apart. A first cell that is a number names nothing."""
    tables: list[list[str]] = [[]]
    for line in path.read_text().splitlines():
        if line.startswith("|"):
            tables[-1].append(re.split(r"(?<!\\)\|", line)[1].strip())
        elif tables[-1]:
            tables.append([])
    twice = [
        key
        for table in tables
        for key in set(table)
        if table.count(key) > 1 and not re.fullmatch(r"[\d,.\s:-]*", key)
    ]
    assert not twice


def test_readme_gives_the_two_commands_on_lines_of_their_own() -> None:
    page = (ROOT / "README.md").read_text()
    for command in (
        "python3 -m venv .venv && .venv/bin/pip install -qq . "
        "&& .venv/bin/millprep listing parts/guard-panel.toml",
        "python3 -m venv .venv && .venv/bin/pip install -qq '.[test]' && .venv/bin/pytest",
    ):
        assert f"\n```sh\n{command}\n```\n" in page
