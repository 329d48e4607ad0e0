"""Files as a careless hand or a hostile one leaves them, and commands run on them. No tests here.

Case n of a seed is always the same: the seed and the number in a failing output bring it back.
"""

from __future__ import annotations

import io
import json
import os
import random
import re
import resource
import signal
import sys
import tempfile
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from types import FrameType

from jobs import RICH, RICH_STOCK, millprep, part_text

from millprep.cli import main
from millprep.infiles import starter

HERE = Path(__file__).parent
ROOT = HERE.parent
MOST_CPU_S = 10
NOT_UTF_8 = os.fsdecode(b"ok\xff.toml")
"""A file's name as another system may have written it."""
MOST_MEMORY_BYTES = 1_000_000_000  # more than the process had before
_LONGEST_MESSAGE = 2000


@dataclass
class Case:
    """Files by name, the first of them mutated, and the command line that reads them."""

    seed: str
    number: int
    files: dict[str, bytes]
    arguments: list[str]
    done: list[str] = field(default_factory=list)

    def __str__(self) -> str:
        words = " ".join(map(repr, self.arguments))
        return f"MILLPREP_SEED={self.seed}, case {self.number}: {words} ({', '.join(self.done)})"


# ---- what is mutated


@cache
def part_folder() -> dict[str, bytes]:
    """The example parts and the assembly: files that name each other lie side by side."""
    folders = ROOT / "parts", HERE / "parts" / "valid"
    return {
        path.name: path.read_bytes() for each in folders for path in sorted(each.glob("*.toml"))
    }


@cache
def parts() -> list[bytes]:
    rich = part_text(RICH, RICH_STOCK).encode()
    starters = [starter("part", units).encode() for units in ("mm", "inch")]
    own = [data for name, data in part_folder().items() if not name.endswith("-assembly.toml")]
    return [*own, *starters, rich]


@cache
def shops() -> list[bytes]:
    packaged = [
        path.read_bytes()
        for path in sorted((ROOT / "millprep" / "infiles" / "shops").glob("*.toml"))
    ]
    return [*packaged, *(starter("shop", units).encode() for units in ("mm", "inch"))]


@cache
def programs() -> list[bytes]:
    """Programs of others, and our own of two parts."""
    found = [path.read_bytes() for path in sorted((HERE / "programs").glob("*.nc"))]
    with tempfile.TemporaryDirectory() as folder:
        for name in ("port-block", "tie-bar"):
            ran = millprep("program", ROOT / "parts" / f"{name}.toml", "-o", f"{folder}/{name}.nc")
            assert ran.status == 0, ran.err
        found += [path.read_bytes() for path in sorted(Path(folder).glob("*.nc"))]
    return found


@cache
def readings(name: str) -> list[bytes]:
    """Measured files of a part: places, and its inspection sheet filled in."""
    part = ROOT / "parts" / name
    sheet = millprep("inspect", part, "--format", "csv").out.splitlines()
    head = sheet[0].split(",")
    filled = [sheet[0]]
    for line in sheet[1:]:
        cells = line.split(",")
        if len(cells) == len(head):
            cells[head.index("reading")] = cells[head.index("expected")] or "yes"
        filled.append(",".join(cells))
    steps = millprep("listing", part, "--format", "json").json["setups"][0]["steps"]
    places = {step["hole"]: f"{step['hole']},{step['x']},{step['y']}" for step in steps}
    return ["\n".join(filled).encode(), "\n".join(["hole,x,y", *places.values()]).encode()]


# ---- mutations: bytes to bytes

Mutation = Callable[[random.Random, bytes], bytes]
_NUMBER = re.compile(rb"(?<![\w.\"#])-?\d+(?:\.\d+)?")
_WORD = re.compile(rb"[A-Za-z_][\w-]*")
_VALUE = re.compile(rb"(?m)(?<=[=,\[]) *(\"[^\"\n]*\"|[^\s,\[\]{}#\"]+)(?=[\s,\]}#]|$)")
_FIGURES = (
    b"0", b"-0.0", b"-1", b"1e308", b"-1e308", b"1e-308", b"nan", b"inf", b"-inf", b"0.000001",
    b"1000001", b"999999", b"50001", b"9" * 25, b"2147483648", b"0x10", b"3.", b".5", b"1,5",
    b'"1/3 in"', b'"3 mm"', b'"1/0 in"', b"-0.0127", b"0.1", b"25.4", b"1e3", b"12.70000000000001",
)  # fmt: skip
_VALUES = (
    b"true", b"2024-01-01", b"[]", b"{}", b'""', b'"through"', b"[1, 2, 3]", b"[[]]", b"{ a = 1 }",
    b'"none"', b"07:32:00", b"[[[[1]]]]", b"{ left = 1 }", b'"M6"', b'"left"', b"[nan]",
    b'{ into = "a" }', b"[" + b"1, " * 400 + b"1]", b"'''\n\n'''",
)  # fmt: skip
_LETTERS = (
    b"\\u001b]0;x\\u0007", b"\\u202e", b"\\u0000", b"\x1b[2J", b"\xff", b"\xe2\x80\xae", b"\r",
    b"\x0c", b"A" * 500, b"<script>", b"=HYPERLINK(1)", b"\xf0\x9f\x98\x80", b"%s{0}", b"(", b")",
    b";", b"'", b"\\", b"MSG, ", b"\xc2\x85", b"../", b"\xcc\x81" * 30,
)  # fmt: skip


def _somewhere(rng: random.Random, data: bytes) -> int:
    return rng.randrange(len(data) + 1)


def _splice(rng: random.Random, data: bytes, new: bytes, length: int = 0) -> bytes:
    at = _somewhere(rng, data)
    return data[:at] + new + data[at + length :]


def _one(rng: random.Random, pattern: re.Pattern[bytes], data: bytes, new: bytes) -> bytes:
    """One of the places that a pattern finds, written otherwise."""
    found = list(pattern.finditer(data))
    if not found:
        return data
    match = rng.choice(found)
    return data[: match.start()] + new + data[match.end() :]


def _lines(change: Callable[[random.Random, list[bytes]], None]) -> Mutation:
    def mutated(rng: random.Random, data: bytes) -> bytes:
        lines = data.split(b"\n")
        change(rng, lines)
        return b"\n".join(lines)

    return mutated


def _double(rng: random.Random, lines: list[bytes]) -> None:
    at, count = rng.randrange(len(lines)), rng.choice((1, 1, 1, 3, 8))
    times = rng.choice((1, 1, 1, 2, 50))
    lines[at:at] = lines[at : at + count] * times


def _remove(rng: random.Random, lines: list[bytes]) -> None:
    at = rng.randrange(len(lines))
    del lines[at : at + rng.choice((1, 1, 1, 4))]


def _swap(rng: random.Random, lines: list[bytes]) -> None:
    one, other = rng.randrange(len(lines)), rng.randrange(len(lines))
    lines[one], lines[other] = lines[other], lines[one]


def _header(rng: random.Random, lines: list[bytes]) -> None:
    heads = (
        b"[hole]",
        b"[[hole]]",
        b"[a.b.c]",
        b"[[dimension]]",
        b"[[setup]]",
        b"[[setup.obstacle]]",
        b"[stock]",
        b"[[tool]]",
        b"[members]",
        b"[[joint]]",
        b"[control]",
        b"[[hole.at]]",
    )
    lines.insert(rng.randrange(len(lines)), rng.choice(heads))


def _flip(rng: random.Random, data: bytes) -> bytes:
    return _splice(rng, data, bytes([rng.randrange(256)]), 1)


def _scaled(rng: random.Random, data: bytes) -> bytes:
    found = list(_NUMBER.finditer(data))
    if not found:
        return data
    match = rng.choice(found)
    value = float(match[0]) * rng.choice((-1, 2, 0.5, 10, 0.1, 1000, 0.001, 25.4, 1 / 25.4))
    return data[: match.start()] + f"{value:.6g}".encode() + data[match.end() :]


def _nudged(rng: random.Random, data: bytes) -> bytes:
    found = list(_NUMBER.finditer(data))
    if not found:
        return data
    match = rng.choice(found)
    value = float(match[0]) + rng.choice((-5, -1, -0.5, -0.0005, 0.0005, 0.1, 0.5, 1, 5))
    return data[: match.start()] + f"{value:.8g}".encode() + data[match.end() :]


def _renamed(rng: random.Random, data: bytes) -> bytes:
    """A word with a letter lost or two swapped, or another word of the same file in its place."""
    words = _WORD.findall(data)
    if not words:
        return data
    word, how = rng.choice(words), rng.randrange(3)
    at = rng.randrange(len(word))
    slips = (word[:at] + word[at + 1 :], word[:at] + word[at : at + 2][::-1] + word[at + 2 :])
    new = slips[how] if how < 2 else rng.choice(words)
    return _one(rng, re.compile(rb"\b" + re.escape(word) + rb"\b"), data, new)


def _units(rng: random.Random, data: bytes) -> bytes:
    pairs = (
        (b"mm", b"inch"),
        (b"inch", b"mm"),
        (b" mm", b" in"),
        (b" in", b" mm"),
        (b"G21", b"G20"),
    )
    old, new = rng.choice(pairs)
    return data.replace(old, new, rng.choice((1, -1)))


def _valued(rng: random.Random, data: bytes) -> bytes:
    """A value replaced by one of another kind, or by another of the same file."""
    own = [match[1] for match in _VALUE.finditer(data)]
    return _one(rng, _VALUE, data, b" " + rng.choice([*_VALUES, *own]))


_KEYED = re.compile(rb"(?m)^([A-Za-z_]+) *= *(.+)$")
_TABLES = re.compile(rb"(?m)^\[\[?[\w.]+\]\]?\n(?:(?!\[).*\n?)*")


@cache
def _pool() -> dict[bytes, list[bytes]]:
    """What stands behind each key in all the files of the project that fit on one line."""
    pool: dict[bytes, list[bytes]] = {}
    for data in (*parts(), *shops(), *part_folder().values()):
        for key, value in _KEYED.findall(data):
            pool.setdefault(key, []).append(value)
    return pool


@cache
def _tables() -> list[bytes]:
    return [match[0] for data in (*parts(), *shops()) for match in _TABLES.finditer(data)]


def _revalued(rng: random.Random, data: bytes) -> bytes:
    """A key with what it has in another place or file."""
    found = [match for match in _KEYED.finditer(data) if match[1] in _pool()]
    if not found:
        return data
    match = rng.choice(found)
    return data[: match.start(2)] + rng.choice(_pool()[match[1]]) + data[match.end(2) :]


def _keyed(rng: random.Random, data: bytes) -> bytes:
    """One more key in some table."""
    places = [match.end() for match in _KEYED.finditer(data)] or [len(data)]
    key, at = rng.choice(sorted(_pool())), rng.choice(places)
    return data[:at] + b"\n" + key + b" = " + rng.choice(_pool()[key]) + data[at:]


def _deepened(rng: random.Random, data: bytes) -> bytes:
    depth = rng.choice((5, 30, 3000))
    return _one(rng, _VALUE, data, b" " + b"[" * depth + b"]" * depth)


def _encoded(rng: random.Random, data: bytes) -> bytes:
    text = data.decode("utf-8", "replace")
    return text.encode(
        rng.choice(("utf-16", "utf-16-le", "latin-1", "cp1252", "utf-8-sig")), "replace"
    )


MUTATIONS: dict[str, Mutation] = {
    "byte flipped": _flip,
    "bytes put in": lambda rng, data: _splice(rng, data, rng.randbytes(rng.choice((1, 2, 30)))),
    "bytes lost": lambda rng, data: _splice(rng, data, b"", rng.choice((1, 1, 5, 80))),
    "cut short": lambda rng, data: data[: _somewhere(rng, data)],
    "zeros": lambda rng, data: _splice(rng, data, b"\0" * rng.choice((1, 100))),
    "byte order mark": lambda rng, data: b"\xef\xbb\xbf" + data,
    "line ends": lambda rng, data: data.replace(b"\n", rng.choice((b"\r\n", b"\r", b"\n\n"))),
    "other encoding": _encoded,
    "lines doubled": _lines(_double),
    "lines removed": _lines(_remove),
    "lines swapped": _lines(_swap),
    "header": _lines(_header),
    "figure": lambda rng, data: _one(rng, _NUMBER, data, rng.choice(_FIGURES)),
    "figure scaled": _scaled,
    "word": _renamed,
    "bracket": lambda rng, data: _one(rng, re.compile(rb"[\[\]{}()\"=,%]"), data, b""),
    "units": _units,
    "figure nudged": _nudged,
    "value": _valued,
    "value of its key": _revalued,
    "key put in": _keyed,
    "table put in": lambda rng, data: data + b"\n" + rng.choice(_tables()),
    "nested": _deepened,
    "letters": lambda rng, data: _splice(rng, data, rng.choice(_LETTERS)),
    "letters in quotes": lambda rng, data: _one(
        rng, re.compile(rb"(?<=\")(?=[^\"\n]*\")"), data, rng.choice(_LETTERS)
    ),
}
_GENTLE = (
    "figure nudged",
    "figure scaled",
    "value of its key",
    "value of its key",
    "table put in",
    "figure nudged",
    "key put in",
    "lines removed",
    "lines swapped",
)
"""Those after which a file mostly can still be read, and goes farther."""


def mutated(rng: random.Random, data: bytes, done: list[str]) -> bytes:
    """Half of the files by gentle mutations alone."""
    names = _GENTLE if rng.random() < 0.6 else list(MUTATIONS)
    for _ in range(rng.choice((1, 1, 1, 1, 2, 2, 4))):
        name = rng.choice(names)
        done.append(name)
        data = MUTATIONS[name](rng, data)
    return data


# ---- commands


def _sheet(rng: random.Random, name: str) -> list[str]:
    """A command on a part file."""
    commands = (
        ["check", name],
        ["check", name, "--format", "json"],
        ["tools", name],
        ["listing", name],
        ["listing", name, "--format", "json"],
        ["listing", name, "--format", "csv"],
        ["listing", name, "--format", "html"],
        ["listing", name, "--order", "row", "--units", "inch"],
        ["tools", name, "--format", "json"],
        ["listing", name, "--skew", "0,0 30,0.2", "--setup", "1"],
        ["dials", name],
        ["dials", name, "--format", "json", "--order", "hole"],
        ["markout", name],
        ["markout", name, "--format", "json"],
        ["program", name, "-o", "out.nc"],
        ["program", name, "-o", "out.nc", "--setup", "2"],
        ["bench", name, "-o", "out.html"],
        ["inspect", name],
        ["inspect", name, "--format", "json"],
        ["drawing", name, "-o", "out.svg"],
        ["drawing", name, "-o", "out.dxf"],
        ["drawing", name, "-o", "out.png"],
        ["drawing", name, "-o", "out.pdf"],
        ["dryrun", "own.nc", "--part", name, "--format", "json"],
    )
    return rng.choice(commands)


def _dry_run(rng: random.Random) -> list[str]:
    part = ["--part", "port-block.toml", "--setup", str(rng.randrange(1, 4))]
    stock = ["--stock", rng.choice(("60,40,20", "dia 40 x 6")), "--zero", "left,front,top"]
    where = rng.choice((part, stock, stock, ["--stock", "60,40,20"], []))
    told = rng.choice(([], [], ["--format", "json"], ["--trace"], ["--moves", "out.csv"]))
    seen = rng.choice(
        ([], [], ["--picture", "out.svg"], ["--html", "out.html"], ["--picture", "out.png"])
    )
    against = rng.choice(([], [], [], ["--against", "own.nc"]))
    return ["dryrun", "a.nc", *where, *told, *seen, *against]


def _of_part(rng: random.Random) -> tuple[str, bytes, list[str]]:
    name = rng.choice(("a.toml", "a.toml", "a b.toml", NOT_UTF_8))
    words = _sheet(rng, name)
    return name, rng.choice(parts()), words


def _of_shop(rng: random.Random) -> tuple[str, bytes, list[str]]:
    words = _sheet(rng, rng.choice(("port-block.toml", "tie-bar.toml", "flywheel-hub.toml")))
    dry = ["dryrun", "own.nc", "--stock", "60,25.4,19.05", "--picture", "out.svg"]
    lookup = ["lookup", "drill", "6.1", "mm"]
    return (
        "shop.toml",
        rng.choice(shops()),
        [*rng.choice((words, words, dry, lookup)), "--shop", "shop.toml"],
    )


def _of_assembly(rng: random.Random) -> tuple[str, bytes, list[str]]:
    name = rng.choice(
        ("twin-engine-assembly.toml", "twin-engine-assembly.toml", "cylinder-cover.toml")
    )
    told = rng.choice(([], ["--format", "json"]))
    return name, part_folder()[name], ["assembly", "twin-engine-assembly.toml", *told]


def _of_measured(rng: random.Random) -> tuple[str, bytes, list[str]]:
    part = rng.choice(("base-plate.toml", "cylinder-cover.toml"))
    command = rng.choice(
        (
            ["inspect", part, "m.csv", "--no-keep"],
            ["inspect", part, "m.csv"],
            ["match", part, "m.csv"],
        )
    )
    told = rng.choice(([], ["--format", "json"], ["--format", "csv"]))
    filled, places = readings(part)
    data = places if command[0] == "match" else rng.choice((filled, places))
    return "m.csv", data, [*command, *told]


def _of_program(rng: random.Random) -> tuple[str, bytes, list[str]]:
    return "a.nc", rng.choice(programs()), _dry_run(rng)


def _of_words(rng: random.Random) -> tuple[str, bytes, list[str]]:
    """Words of a look-up: no file, but the words are mutated like one."""
    asked = (
        "M6",
        "1/4-20 UNC",
        "clearance M5",
        "6 H7",
        "M4 socket head",
        "letter F",
        "aluminium 6082",
        "drill 6 mm mild steel 40 deep",
        "M6 70 %",
        "1/4 BSW",
        "6.35",
        "0 BA",
        "dowel 4 mm",
    )
    return "words", rng.choice(asked).encode(), ["lookup", *rng.choice(([], ["--format", "json"]))]


_KINDS = (
    *[_of_part] * 8,
    *[_of_program] * 3,  # test_gcode_fuzz and test_simulate_fuzz have more of them
    *[_of_shop] * 3,
    *[_of_measured] * 2,
    _of_assembly,
    _of_words,
)


def case_of(seed: str, number: int) -> Case:
    """The case with this number of a seed."""
    rng = random.Random(f"{seed} {number}")
    name, data, arguments = rng.choice(_KINDS)(rng)
    case = Case(seed, number, {}, arguments)
    data = mutated(rng, data, case.done)
    if arguments[0] == "lookup" and name == "words":
        arguments += [os.fsdecode(word).replace("\0", "") for word in data.split(b" ")]
        return case
    case.files = {**part_folder(), "own.nc": programs()[-1], name: data}
    return case


# ---- running


class TooLongError(BaseException):
    """The command took longer than any should: no Exception, so that nothing takes it up."""


@contextmanager
def bounded(memory_bytes: int = MOST_MEMORY_BYTES) -> Iterator[None]:
    """At most ten seconds of the processor, and so much more memory than there is in use."""

    def stop(number: int, frame: FrameType | None) -> None:
        raise TooLongError(f"more than {MOST_CPU_S} s")

    pages = int(Path("/proc/self/statm").read_text().split()[0])
    soft, hard = resource.getrlimit(resource.RLIMIT_AS)
    before = signal.signal(signal.SIGPROF, stop)
    most = pages * resource.getpagesize() + memory_bytes
    resource.setrlimit(resource.RLIMIT_AS, (most, hard))
    signal.setitimer(signal.ITIMER_PROF, MOST_CPU_S)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        resource.setrlimit(resource.RLIMIT_AS, (soft, hard))
        signal.signal(signal.SIGPROF, before)


def _ran(arguments: list[str]) -> tuple[int, str, str]:
    """Status, output and messages of the command line, run here on streams of bytes."""
    streams = sys.stdout, sys.stderr
    out, err = (io.TextIOWrapper(io.BytesIO(), "utf-8", write_through=True) for _ in range(2))
    sys.stdout, sys.stderr = out, err
    try:
        with bounded():
            main(arguments)
        status = 0
    except SystemExit as end:
        status = end.code if isinstance(end.code, int) else 1
    finally:
        sys.stdout, sys.stderr = streams
    out.flush(), err.flush()
    return status, out.buffer.getvalue().decode(), err.buffer.getvalue().decode()  # type: ignore[attr-defined]


def fault_of(case: Case) -> str:
    """What is wrong with how a case ends; empty when nothing is. Runs in the current folder."""
    for name, data in case.files.items():
        Path(name).write_bytes(data)
    try:
        status, out, err = _ran(list(case.arguments))
    except TooLongError as late:
        return f"{late}\n{traceback.format_exc(limit=-6)}"
    except BaseException:
        return traceback.format_exc(limit=-8)
    if status not in (0, 1, 2):
        return f"exit status {status}\n{err}"
    if "Traceback" in out + err:
        return err
    if max(map(len, err.splitlines()), default=0) > _LONGEST_MESSAGE:
        return f"a message of {max(map(len, err.splitlines()))} letters\n{err[:500]}"
    if ("--format", "json") in zip(case.arguments, case.arguments[1:], strict=False):
        try:
            json.loads(out)
        except ValueError:
            return f"no JSON object with status {status}\n{out[:500]}\n{err[:500]}"
    changed = [name for name, data in case.files.items() if Path(name).read_bytes() != data]
    return f"{changed} was changed" if changed else ""


def faults_of(seed: str, first: int, count: int) -> Iterator[str]:
    """The faults among so many cases of a seed, each with what brings it back."""
    home = Path.cwd()
    for number in range(first, first + count):
        case = case_of(seed, number)
        with tempfile.TemporaryDirectory() as folder:
            os.chdir(folder)
            try:
                fault = fault_of(case)
            finally:
                os.chdir(home)
        if fault:
            yield f"{case}\n{fault}"
