"""Parts on phones: who is let in where, and ticks that count once whatever becomes of messages."""

from __future__ import annotations

import asyncio
import csv
import json
import os
import random
import re
import socket
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from asking import Answer, Asking, _answered

from millprep.base import record
from millprep.base.records import replace
from millprep.desk import network, phones, places, taking_in
from millprep.desk.files import id_of
from millprep.desk.issues import Issue, Newest
from millprep.desk.phone_line import COOKIE, make_app
from millprep.desk.phones import Phones
from millprep.desk.taking_in import newer_words
from millprep.desk.ticks import COLUMNS, Record, Tick
from millprep.proven.bench_steps import BenchStep

AT = "192.0.2.8:30123"
PLATE = """part = "Plate"
units = "mm"
material = "mild steel"
[stock]
size = [60, 40, 20]
[datum]
x = "left"
y = "front"
z = "top"
[[hole]]
name = "A"
drill = 5
depth = 10
at = [10, 10]
[[hole]]
name = "B"
drill = 5
depth = 10
at = [50, 30]
"""
SPOILT = PLATE.replace("at = [50, 30]", "at = [50, 28]") + (
    '[[hole]]\nname = "C"\ndrill = 5\ndepth = 10\nat = [30, 20]\n'
)


class Home:
    """A desk with two parts, and the line that phones come by."""

    def __init__(self, folder: Path) -> None:
        sheets = folder / "sheets"
        sheets.mkdir(exist_ok=True)
        for name in ("plate", "other"):
            (sheets / f"{name}.toml").write_text(PLATE)
        self.asking = Asking(sheets)
        self.desk = self.asking.desk
        self.desk.phones.start = lambda: None  # type: ignore[method-assign]
        self.app = make_app(self.desk.phones, self.desk, AT)

    @property
    def phones(self) -> Phones:
        return self.desk.phones

    def on(self, name: str = "plate", **given: Any) -> str:
        answer = self.asking.post(f"/sheet/{id_of(name + '.toml')}/phone/on", given)
        assert answer.status == 200, answer.text
        return self.phones.of(f"{name}.toml").secret

    def ask(
        self, method: str, path: str, token: str = "", body: bytes = b"", **more: str | None
    ) -> Answer:
        given: dict[str, str | None] = {
            "host": AT,
            "origin": f"http://{AT}" if method == "POST" else None,
            "content-type": "application/json",
            "cookie": f"{COOKIE}={token}" if token else None,
        }
        given |= more
        scope = {
            "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method,
            "scheme": "http", "path": path, "raw_path": path.encode(), "query_string": b"",
            "root_path": "", "client": ("192.0.2.9", 50_000), "server": ("192.0.2.8", 30_123),
            "headers": [(k.encode(), v.encode()) for k, v in given.items() if v is not None],
        }  # fmt: skip
        return asyncio.run(_answered(self.app, scope, body))

    def come(self, secret: str) -> tuple[str, str, dict[str, Any]]:
        """A new phone: its token, its issue, what it hears first."""
        page = self.ask("GET", f"/{secret}/")
        assert page.status == 200, page.text
        found = re.match(rf"{COOKIE}=([^;]+); HttpOnly; .*Path=/{secret}/; SameSite=strict",
                         page.headers["set-cookie"])  # fmt: skip
        issue = re.search(r'id="page-mark" content="[^"]* (\w+)"', page.text)
        assert found and issue
        return found[1], issue[1], self.say(secret, found[1], issue[1]).json

    def say(
        self, secret: str, token: str, issue: str, *ticks: tuple[int, str, int], take: str = ""
    ) -> Answer:
        """Ticks (n, name, done) of the first piece."""
        said = [
            {"issue": issue, "page": "p", "n": n, "piece": 1, "name": name, "done": done}
            for n, name, done in ticks
        ]
        body = json.dumps({"issue": issue, "ticks": said, "take": take}).encode()
        return self.ask("POST", f"/{secret}/ticks", token, body)

    def rows(self, name: str = "plate") -> list[dict[str, str]]:
        with (self.desk.folder / f"{name}.ticks.csv").open(newline="") as file:
            return list(csv.DictReader(file))


@pytest.fixture
def home(tmp_path: Path) -> Iterator[Home]:
    one = Home(tmp_path)
    yield one
    one.desk.close()


def test_only_the_bench_page_and_its_ticks_answer_and_each_secret_is_for_one_part(
    home: Home,
) -> None:
    secret, other = home.on(), home.on("other")
    assert secret != other
    token, issue, heard = home.come(secret)
    assert (heard["phone"], heard["ticks"], heard["newer"]) == ("phone 1", {"1": []}, None)
    asked = ["/", "/in/x", f"/in/{home.desk.secret}", "/now", "/phones", "/shop", "/folders"]
    asked += [f"/sheet/{id_of('plate.toml')}", f"/sheet/{id_of('plate.toml')}/phone", "/static/"]
    asked += ["/static/desk.js", "/look-up", "/dry-run", "/plate.toml", f"/{secret}", "/docs"]
    asked += [f"/{secret}/../", f"/{secret}/ticks/", f"/{secret}/plate.toml", f"/{secret[:-1]}/"]
    for path in asked:
        for method in ("GET", "POST", "PUT"):
            answer = home.ask(method, path, token)
            assert answer.status in (404, 405), (method, path, answer.status)
            assert "Plate" not in answer.text
    # a cookie of one part opens no other; it is not even sent there
    body = json.dumps({"issue": issue, "ticks": []}).encode()
    assert home.ask("POST", f"/{other}/ticks", token, body).status == 409
    good = f"/{secret}/ticks"
    assert home.ask("POST", good, token, body).status == 200
    assert home.ask("POST", good, token, body, origin=None).status == 403
    assert home.ask("POST", good, token, body, origin="null").status == 403
    assert home.ask("POST", good, token, body, origin="http://192.0.2.8").status == 403
    assert home.ask("POST", good, token, body, host="evil.example:30123").status == 421
    assert home.ask("GET", f"/{secret}/", host="127.0.0.1:30123").status == 421
    for bad in (b"{}", b"[]", b"x", b'{"issue": 1, "ticks": [1]}', b"[" * 90_000, b" " * 300_000):
        assert home.ask("POST", good, token, bad).status in (400, 413)
    page = home.ask("GET", f"/{secret}/", token)
    assert page.headers["cache-control"] == "no-store"
    assert "frame-ancestors 'none'" in page.headers["content-security-policy"]
    assert all(secret not in note for note in home.asking.notes)


def test_ticks_stand_beside_the_part_each_once(home: Home) -> None:
    secret = home.on()
    one, issue, _ = home.come(secret)
    two, _, _ = home.come(secret)
    names = {step.key: step.name for step in home.phones.issues("plate.toml").of(issue).steps}
    spot, drill = names["1", "1", "A", "spot drill"], names["1", "3", "A", "drill"]
    assert home.say(secret, one, issue, (1, spot, 1), (2, drill, 1)).json["heard"] == {"p": 2}
    home.say(secret, one, issue, (1, spot, 1), (2, drill, 1))  # sent again
    home.say(secret, two, issue, (1, spot, 1))  # ticked there already
    assert home.say(secret, one, issue).json["ticks"] == {"1": [spot, drill]}
    home.say(secret, two, issue, (2, spot, 0))  # taken back by the other
    home.say(secret, one, issue, (1, spot, 1))  # a message that was long on its way
    home.say(secret, one, issue, (3, "nothing of that name", 1))
    assert home.say(secret, one, issue).json["ticks"] == {"1": [drill]}
    mark = home.phones.issues("plate.toml").of(issue).mark
    rows = [[row[column] for column in COLUMNS if column != "time"] for row in home.rows()]
    assert rows == [
        ["1", "phone 1", mark, "1", "1", "1", "A", "spot drill", "1"],
        ["2", "phone 1", mark, "1", "1", "3", "A", "drill", "1"],
        ["3", "phone 2", mark, "1", "1", "1", "A", "spot drill", "0"],
    ]
    assert home.asking.get(f"/sheet/{id_of('plate.toml')}/standing").text == "1 of 4 done"
    assert home.asking.get("/now").json["numbers"][f"phone-{id_of('plate.toml')}"] > 1


def test_sent_away_is_sent_away_and_the_code_lets_others_in_again(home: Home) -> None:
    secret, sheet = home.on(), f"/sheet/{id_of('plate.toml')}"
    assert "<svg" in home.asking.get(f"{sheet}/phone/state").text or not home.phones.address
    one, issue, _ = home.come(secret)
    two, _, _ = home.come(secret)
    assert re.findall(r"<b>(phone \d)</b> came", home.asking.get("/phones").text) == [
        "phone 1", "phone 2"
    ]  # fmt: skip
    home.asking.post("/phones/seen")
    assert "came in" not in home.asking.get("/phones").text
    home.asking.post(f"{sheet}/phone/away", {"phone": "phone 1"})
    assert home.say(secret, one, issue, (1, "c1", 1)).status == 403
    assert "sent away" in home.say(secret, one, issue).json["said"]
    assert home.ask("GET", f"/{secret}/", one).status == 403
    assert home.ask("GET", f"/{secret}/").status == 403  # as one that threw its cookie away
    assert home.say(secret, "x" * 24, issue).status == 403
    assert home.say(secret, two, issue, (1, "c1", 1)).status == 200
    assert not (home.desk.folder / "other.ticks.csv").exists()
    home.asking.post(f"{sheet}/phone/code")
    assert home.come(secret)[2]["phone"] == "phone 3"
    assert home.say(secret, one, issue).status == 403
    home.asking.post(f"{sheet}/phone/off")
    assert home.ask("GET", f"/{secret}/", two).status == 404
    assert home.say(secret, two, issue).status == 404
    again = home.on()
    assert again != secret
    assert home.come(again)[2]["ticks"]["1"] == ["c1"]


def test_address_and_phones_outlast_the_desk_and_are_for_this_user_alone(
    home: Home, tmp_path: Path
) -> None:
    secret = home.on()
    token, issue, _ = home.come(secret)
    home.say(secret, token, issue, (1, "c1", 1))
    home.desk.close()
    again = Home(tmp_path)
    try:
        assert again.phones.of("plate.toml").secret == secret
        page = again.ask("GET", f"/{secret}/", token)
        assert issue in page.text
        assert again.say(secret, token, issue, (1, "c1", 1)).json["ticks"] == {"1": ["c1"]}
        assert len(again.rows()) == 1
    finally:
        again.desk.close()
    kept = tmp_path / "kept by the desk" / "millprep"
    found = [one for one in kept.rglob("*") if "phones" in one.name or "issues" in str(one)]
    assert len(found) == 4
    for one in found:
        assert stat.S_IMODE(one.stat().st_mode) == (0o700 if one.is_dir() else 0o600), one


def test_a_changed_part_is_told_and_taken_only_when_the_phone_asks(home: Home) -> None:
    secret, part = home.on(), home.desk.folder / "plate.toml"
    token, issue, _ = home.come(secret)
    old = home.phones.issues("plate.toml").of(issue)
    names = {step.key[1:]: step.name for step in old.steps}
    a, b = names["1", "A", "spot drill"], names["2", "B", "spot drill"]
    home.say(secret, token, issue, (1, "c1", 1), (2, a, 1), (3, b, 1))
    part.write_text(SPOILT)
    told = home.say(secret, token, issue, (4, names["3", "A", "drill"], 1)).json
    assert told["ticks"]["1"] == ["c1", a, b, names["3", "A", "drill"]]
    assert re.search("the stamp [0-9a-f]{6}", told["newer"]["said"])
    assert told["newer"]["spoils"] == [
        "step 2 of setup 1, B (spot drill): Y was -30.000, is -28.000 mm"
    ]
    assert home.ask("GET", f"/{secret}/", token).text.count(issue)  # loaded anew it is the same
    assert {row["part_mark"] for row in home.rows()} == {old.mark}
    part.write_text(SPOILT.replace("at = [50, 28]", "at = [500, 28]"))
    assert home.say(secret, token, issue).json["newer"]["issue"] == ""
    part.write_text(SPOILT)
    new = home.say(secret, token, issue).json["newer"]["issue"]
    assert home.say(secret, token, issue, take="another").json["taken"] is False
    assert home.say(secret, token, issue, take=new).json["taken"] is True
    assert new in home.ask("GET", f"/{secret}/", token).text
    names = {s.key[2:]: s.name for s in home.phones.issues("plate.toml").of(new).steps}
    held = {names["A", "spot drill"], names["A", "drill"]}
    assert set(home.say(secret, token, new).json["ticks"]["1"]) == held
    # a message under the old issue that comes late counts there
    home.say(secret, token, issue, (5, b, 0))
    assert home.rows()[-1]["part_mark"] == old.mark


def test_a_batch_is_taken_up_where_it_stands(home: Home) -> None:
    secret = home.on(pieces="3")
    token, issue, heard = home.come(secret)
    assert sorted(heard["ticks"]) == ["1", "2", "3"]
    said = [
        {"issue": issue, "page": "p", "n": n, "piece": 2, "name": name, "done": 1}
        for n, name in enumerate(("c6", "c7"), 1)
    ]
    body = json.dumps({"issue": issue, "ticks": said}).encode()
    home.ask("POST", f"/{secret}/ticks", token, body)
    assert home.phones.standing("plate.toml") == "2 of 4 done, piece 2 of 3"
    home.asking.post(f"/sheet/{id_of('plate.toml')}/phone/off")
    heard = home.come(home.on(pieces="3"))[2]
    assert (heard["piece"], heard["ticks"]["2"]) == (2, ["c6", "c7"])
    for bad in ("0", "101", "two", "1.5", "-1"):
        answer = home.asking.post(f"/sheet/{id_of('plate.toml')}/phone/on", {"pieces": bad})
        assert answer.status == 400


def test_ticks_and_phones_go_along_when_a_part_is_renamed(home: Home) -> None:
    secret = home.on()
    token, issue, _ = home.come(secret)
    home.say(secret, token, issue, (1, "c1", 1))
    answer = home.asking.post(
        f"/sheet/{id_of('plate.toml')}/rename", {"typed": {"part": "Cover plate"}}
    )
    assert answer.json["go"] == f"/sheet/{id_of('cover-plate.toml')}", answer.text
    assert home.say(secret, token, issue, (2, "c2", 1)).json["ticks"] == {"1": ["c1", "c2"]}
    assert len(home.rows("cover-plate")) == 2
    assert not (home.desk.folder / "plate.ticks.csv").exists()


def no_room(*_: object) -> None:
    raise OSError(28, "No space left on device")


def test_what_cannot_be_put_down_is_not_heard(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file of another kind, a link, no room: said on the phone, which keeps its ticks."""
    secret = home.on()
    token, issue, _ = home.come(secret)
    file = home.desk.folder / "plate.ticks.csv"
    file.write_text("my,own\n1,2\n")
    refused = home.say(secret, token, issue, (1, "c1", 1))
    assert (refused.status, "other columns" in refused.json["said"]) == (409, True)
    assert file.read_text() == "my,own\n1,2\n"
    file.unlink()
    file.symlink_to(home.desk.folder / "plate.toml")
    assert home.say(secret, token, issue, (1, "c1", 1)).status == 409
    file.unlink()
    assert home.say(secret, token, issue, (1, "c1", 1)).json["ticks"] == {"1": ["c1"]}
    with monkeypatch.context() as full:
        full.setattr(phones, "write_privately", no_room)
        assert home.say(secret, token, issue, (9, "c9", 1)).status == 500
        full.setattr(phones, "write_privately", places.write_privately)
        full.setattr(record.os, "write", lambda handle, data: no_room())
        assert home.say(secret, token, issue, (9, "c9", 1)).status == 409
    assert home.say(secret, token, issue).json["ticks"] == {"1": ["c1"]}
    assert home.say(secret, token, issue, (9, "c9", 1)).json["ticks"] == {"1": ["c1", "c9"]}
    home.say(secret, token, issue, (10, "c9", 0))
    file.write_text(file.read_text() + "note of mine,,,,,,,,,\n")
    assert home.say(secret, token, issue, (11, "c2", 1)).json["ticks"] == {"1": ["c1", "c2"]}


def test_nothing_is_listened_at_but_own_addresses_at_home(monkeypatch: pytest.MonkeyPatch) -> None:
    for address in ("192.168.1.7", "10.0.0.3", "172.20.1.1", "192.0.2.2"):
        assert network.is_at_home(address), address
    for address in ("127.0.0.1", "0.0.0.0", "8.8.8.8", "203.0.114.1", "::1", "localhost", ""):
        assert not network.is_at_home(address), address
        with pytest.raises(OSError):
            network.listening_at(address, 0)
    seen: list[Any] = []

    def bind(self: socket.socket, at: tuple[str, int]) -> None:
        seen.append(at)

    monkeypatch.setattr(socket.socket, "bind", bind)
    network.own_addresses()
    assert seen == []


def test_nothing_heard_is_told_with_its_reasons(
    home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    secret, sheet = home.on(), f"/sheet/{id_of('plate.toml')}"
    monkeypatch.setattr(Phones, "address", "http://192.168.1.7:30123")
    monkeypatch.setattr(phones, "own_addresses", lambda: ["192.168.1.7", "10.0.0.3"])
    fresh = home.asking.get(f"{sheet}/phone/state").text
    assert f"http://192.168.1.7:30123/{secret}/" in fresh
    assert "No phone was heard" not in fresh
    assert "style=" not in fresh
    later = phones.time.monotonic() + phones.SILENT_SECONDS
    monkeypatch.setattr(phones.time, "monotonic", lambda: later)
    silent = home.asking.get(f"{sheet}/phone/state").text
    for word in ("firewall", "for guests", "Use 10.0.0.3", f"{sheet}/paper/bench/copy?pieces=1"):
        assert word in silent, word
    assert home.asking.get(f"{sheet}/paper/bench/copy?pieces=1").status == 200
    home.come(secret)
    came = home.asking.get(f"{sheet}/phone/state").text
    assert "No phone was heard" not in came
    assert "The code is covered" in came
    assert "<svg" not in came
    assert secret not in came


# ---- 500 runs by chance

STEPS = tuple(BenchStep(f"c{n}", "1", str(n), f"hole {n}", "drill") for n in range(1, 6))
ISSUE = Issue("abc123", "3197f2", 2, STEPS, b"page")


def test_what_a_new_issue_takes_over(tmp_path: Path) -> None:
    """Of another mark and of the same: numbered otherwise, made with another tool, not there."""
    steps = (
        replace(STEPS[0], tool="another drill"),
        replace(STEPS[1], step="3"),
        replace(STEPS[2], step="2"),
        STEPS[3],
    )
    for mark, expected in (
        ("other0", [("3", 1, True), ("2", 2, True)]),
        (ISSUE.mark, [("1", 1, False), ("3", 1, True), ("2", 2, True)]),
    ):
        record = Record(tmp_path / f"{mark}.toml")
        ticks = [("1", 1, True), ("2", 1, True), ("3", 2, True), ("4", 1, True), ("4", 1, False)]
        keys = {step.step: step.key for step in STEPS}
        record.add(
            Tick(n, "", "phone 1", ISSUE.mark, piece, keys[step], done)
            for n, (step, piece, done) in enumerate([*ticks, ("5", 1, True)], 1)
        )
        new = Issue("def456", mark, 2, steps, b"page")
        rows = taking_in.carried(ISSUE, new, record, "phone 2")
        assert [(row.key[1], row.piece, row.done) for row in rows] == expected
        assert {row.part_mark for row in rows} == {mark}
        assert [row.number for row in rows] == list(range(7, 7 + len(rows)))
        record.add(rows)
        assert taking_in.carried(ISSUE, new, record, "phone 3") == []
        newest = Newest(new)
        told = newer_words(ISSUE, newest, record.last().values())
        assert told is not None
        assert "the tool was , is another drill" in told["spoils"][0] or mark == ISSUE.mark


class OneIssue:
    """What a part has that is not changed."""

    known = Newest(ISSUE)

    def of(self, id: str) -> Issue | None:
        return ISSUE if id == ISSUE.id else None

    def newest(self, pieces: int, waits: bool = True) -> Newest:
        return self.known


class Killed(BaseException):
    """The desk ends at this moment."""


class Screen:
    """A phone, as the script of its page does it. Its clock goes wrong, and is asked by nobody."""

    def __init__(self, token: str, chance: random.Random, steps: tuple[str, ...]) -> None:
        self.token, self.chance, self.steps = token, chance, steps
        self.waiting: list[dict[str, Any]] = []
        self.theirs: dict[str, list[str]] = {"1": [], "2": []}
        self.did: list[tuple[int, str, bool]] = []
        self.opened(0)

    def opened(self, number: int) -> None:
        """Loaded anew: what waits was kept in its store."""
        self.page, self.n = f"{number}-{self.token[:4]}", 0

    @property
    def shown(self) -> set[tuple[int, str]]:
        shown = {(int(piece), name) for piece, names in self.theirs.items() for name in names}
        for one in self.waiting:
            change = shown.add if one["done"] else shown.discard
            change((one["piece"], one["name"]))
        return shown

    def press(self) -> None:
        piece, name = self.chance.randint(1, 2), self.chance.choice(self.steps)
        done = (piece, name) not in self.shown
        self.n += 1
        self.waiting.append(
            {"issue": ISSUE.id, "page": self.page, "n": self.n, "piece": piece, "name": name,
             "done": int(done)}
        )  # fmt: skip
        self.did.append((piece, name, done))

    def message(self) -> dict[str, Any]:
        return {"issue": ISSUE.id, "ticks": [dict(one) for one in self.waiting]}

    def hear(self, answer: dict[str, Any]) -> None:
        heard = answer["heard"]
        self.waiting = [one for one in self.waiting if one["n"] > heard.get(one["page"], 0)]
        self.theirs = answer["ticks"]


def test_each_tick_once_and_both_screens_alike_through_500_runs(
    home: Home, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Phones, "issues", lambda self, name: OneIssue())
    monkeypatch.setattr(os, "fsync", lambda handle: None)
    clock = random.Random(7)
    monkeypatch.setattr(taking_in, "now", lambda: f"{clock.randint(0, 23):02}:00:00")
    add, kill = Record.add, {"before": 0.0, "after": 0.0}
    chance = random.Random(20)

    def killing(self: Record, ticks: Any) -> None:
        if chance.random() < kill["before"]:
            raise Killed
        add(self, ticks)
        if chance.random() < kill["after"]:
            raise Killed

    monkeypatch.setattr(Record, "add", killing)
    total = 0
    for run in range(500):
        total += _run(home, tmp_path / "runs" / str(run), f"part{run}.toml", chance, kill)
    assert total > 3000


def _run(home: Home, state: Path, name: str, chance: random.Random, kill: dict[str, float]) -> int:
    server = Phones(home.desk, state)
    server.start = lambda: None  # type: ignore[method-assign]
    server.switch_on(name, 2)
    secret = server.of(name).secret
    names = tuple(ISSUE.names)
    is_apart = chance.random() < 0.5
    screens = [
        Screen("first" * 5, chance, names[:2] if is_apart else names),
        Screen("other" * 5, chance, names[2:] if is_apart else names),
    ]
    air: list[tuple[Screen, dict[str, Any]]] = []

    def deliver(screen: Screen, message: dict[str, Any], is_heard: bool) -> None:
        nonlocal server
        try:
            answer = server.answer(secret, screen.token, json.loads(json.dumps(message)))
        except Killed:
            server = _restarted(home, state, kill)
            return
        if is_heard:
            screen.hear(answer)

    for screen in screens:
        deliver(screen, screen.message(), True)
    kill["before"] = kill["after"] = 0.1
    for turn in range(chance.randint(15, 40)):
        screen, dice = chance.choice(screens), chance.random()
        if dice < 0.45:
            screen.press()
        elif dice < 0.6:
            deliver(screen, screen.message(), chance.random() < 0.6)  # the answer may be lost
        elif dice < 0.75:
            air.append((screen, screen.message()))  # long on its way, or lost
        elif dice < 0.9 and air:
            late = chance.choice(air) if chance.random() < 0.5 else air.pop(0)  # twice, or not
            deliver(*late, False)
        elif dice < 0.95:
            server = _restarted(home, state, kill)
        else:
            screen.opened(turn + 1)
    chance.shuffle(air)
    for late in air:
        deliver(*late, False)
    kill["before"] = kill["after"] = 0.0
    for screen in (*screens, *screens):
        deliver(screen, screen.message(), True)
    server.close()

    rows = server.record(name).rows()
    assert [one.number for one in rows] == list(range(1, len(rows) + 1))
    last: dict[Any, bool] = {}
    for row in rows:  # a tick on a ticked step is no row
        assert row.done != last.get(row.of, False)
        last[row.of] = row.done
    held = {(piece, f"c{key[1]}") for (_, piece, key), done in last.items() if done}
    assert [screen.waiting for screen in screens] == [[], []]
    assert screens[0].shown == screens[1].shown == held
    by_device = [
        [(row.piece, f"c{row.key[1]}", row.done) for row in rows if row.device == f"phone {n}"]
        for n in (1, 2)
    ]
    if is_apart:  # then each tick is there, in its order
        assert by_device == [screen.did for screen in screens]
    return len(rows)


def _restarted(home: Home, state: Path, kill: dict[str, float]) -> Phones:
    chances, kill["before"], kill["after"] = dict(kill), 0.0, 0.0
    server = Phones(home.desk, state)
    server.start = lambda: None  # type: ignore[method-assign]
    kill |= chances
    return server
