"""Who is let in to the desk, and who is not; what a file's name or a body can do to it."""

import hashlib
import http.client
import json
import os
import re
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest
from asking import HOST, ORIGIN, PORT, SECRET, Asking, served

from millprep.base.bounds import MOST_ANSWERS
from millprep.base.findings import MillprepError
from millprep.desk.files import id_of
from millprep.desk.refusals import RefusedError
from millprep.desk.running import TICKET_SECONDS, ticket

ROOT = Path(__file__).parent.parent.parent
STATIC = ROOT / "millprep" / "desk" / "static"
PLATE = 'part = "Plate"\n[stock]\nsize = [60, 40, 20]\n[[hole]]\ndrill = 5\nat = [10, 10]\n'


@pytest.fixture
def asking(tmp_path: Path) -> Iterator[Asking]:
    sheets = tmp_path / "sheets"
    sheets.mkdir()
    (sheets / "plate.toml").write_text(PLATE)
    with Asking(sheets) as one:
        yield one


def test_the_vendored_script_is_the_published_one() -> None:
    """htmx.org 2.0.11, dist/htmx.min.js as its registry gives it; its licence lies beside it."""
    data = (STATIC / "htmx.min.js").read_bytes()
    published = "d6fdc75f204e6bdefa99b69bf1e6d4ac69b8a364f77929f45c13476b4000f717"
    assert hashlib.sha256(data).hexdigest() == published
    assert b'version:"2.0.11"' in data
    assert (STATIC / "htmx-licence.txt").read_text().startswith("Zero-Clause BSD")


def test_the_secret_lets_in_and_leaves_the_address(asking: Asking) -> None:
    """A page of its own that moves on: on a redirect from another site no cookie would be sent."""
    came = asking.get(f"/in/{SECRET}", cookie=None)
    assert came.status == 200
    assert came.headers["set-cookie"] == (
        f"millprep_desk_{PORT}={SECRET}; HttpOnly; Path=/; SameSite=strict"
    )
    assert '<meta http-equiv="refresh" content="0;url=/">' in came.text
    assert SECRET not in came.text
    page = asking.get("/")
    assert page.status == 200
    assert "plate.toml" in page.text
    assert SECRET not in page.text
    # two desks at once: the cookie of the other is sent along, and changes nothing
    both = f"millprep_desk_{PORT + 1}=another; {asking.cookie}"
    assert asking.get("/", cookie=both).status == 200
    assert asking.notes == []


def test_a_ticket_lets_in_once_and_soon(asking: Asking, monkeypatch: pytest.MonkeyPatch) -> None:
    good, later, foreign = ticket(SECRET), ticket(SECRET), ticket("of another desk")
    assert asking.get(f"/in/{good}", cookie=None).status == 200
    for word in (good, foreign, good.replace(".", "x."), "", ".", f"0-x.{good}", "ü", SECRET[:-1]):
        assert asking.get(f"/in/{word}", cookie=None).status == 410, word
    assert all(SECRET not in one and good not in one for one in asking.notes)
    now = __import__("time").time()
    monkeypatch.setattr("time.time", lambda: now + TICKET_SECONDS + 2)
    assert asking.get(f"/in/{later}", cookie=None).status == 410


def test_strangers_are_told_where_they_are(asking: Asking) -> None:
    """A tab of yesterday's desk is shown a page in words; a script of it hears that it is over."""
    for cookie in (None, f"millprep_desk_{PORT}=yesterday", f"desk={SECRET}"):
        page = asking.get("/", cookie=cookie)
        assert (page.status, "a desk that was put away" in page.text) == (410, True)
        assert "plate" not in page.text
        assert asking.get("/now", cookie=cookie, hx_request="true").json["put_away"] is True
        assert asking.post("/put-away", cookie=cookie).json["put_away"] is True
    assert len(asking.notes) == 9
    assert asking.get("/static/desk.css", cookie=None).status == 200


LOOKING = {
    "another name": {"host": "evil.example"},
    "a name that begins alike": {"host": f"localhost.evil:{PORT}"},
    "another port": {"host": f"127.0.0.1:{PORT + 1}"},
    "no port": {"host": "127.0.0.1"},
    "another writing": {"host": f"0x7f.1:{PORT}"},
    "a user": {"host": f"x@{HOST}"},
    "no host": {"host": None},
    "an empty one": {"host": ""},
}
CHANGING = {
    **LOOKING,
    "foreign": {"origin": "http://evil.example"},
    "another port of this machine": {"origin": f"http://127.0.0.1:{PORT + 1}"},
    "another writing of it": {"origin": f"http://localhost:{PORT}"},
    "null": {"origin": "null"},
    "none": {"origin": None},
    "empty": {"origin": ""},
    "https": {"origin": f"https://{HOST}"},
    "begins alike": {"origin": f"{ORIGIN}.evil.example"},
    "no header of ours": {"x_millprep": None},
    "another": {"x_millprep": "1"},
    "a form": {"x_millprep": None, "content_type": "text/plain"},
}


def test_who_may_not_ask(asking: Asking) -> None:
    """Each is refused in one line, and nothing is done; whoever is the desk's own still may."""
    ended: list[str] = []
    asking.desk.put_away = lambda: ended.append("put away")
    for name, headers in LOOKING.items():
        for path in ("/", "/static/desk.css", f"/in/{SECRET}", "/now"):
            answer = asking.get(path, **headers)
            assert (answer.status, "set-cookie" in answer.headers) == (421, False), (name, path)
    for name, headers in CHANGING.items():
        for path in ("/put-away", "/folder", "/static/desk.css", f"/in/{SECRET}"):
            answer = asking.post(path, b'{"a": "=b"}', **headers)
            assert answer.status in (403, 421), (name, path)
            assert len(answer.body) < 100
    for method in ("DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "PROPFIND", "get", ""):
        assert asking.change(method, "/put-away").status == 405
    assert not ended
    assert all(one.startswith("refused: ") and "\n" not in one for one in asking.notes)
    assert len(asking.notes) == 4 * len(LOOKING) + 4 * len(CHANGING) + 8
    here = f"localhost:{PORT}"
    assert asking.post("/put-away", host=here, origin=f"http://{here}").status == 200
    assert ended == ["put away"]


def test_a_header_said_twice_is_none(asking: Asking) -> None:
    """What two programs on the way may read differently."""
    app, raw = asking.app, asking

    async def doubled(scope, receive, send):  # type: ignore[no-untyped-def]
        scope["headers"] += [(doubling, value.encode())]
        await app(scope, receive, send)

    raw.app = doubled
    for doubling, value, status in ((b"host", HOST, 421), (b"origin", ORIGIN, 403)):  # noqa: B007
        assert asking.post("/put-away").status == status, value


def test_a_change_that_is_sent_again_is_made_once(asking: Asking) -> None:
    """Its page was left before the answer came; one that was refused may be sent again."""
    ended: list[str] = []
    asking.desk.put_away = lambda: ended.append("put away")
    first, again = (asking.post("/put-away", x_sent="number 1") for _ in range(2))
    assert (first.json, again.json, ended) == (again.json, {"put_away": True}, ["put away"])
    assert again.headers == first.headers
    assert asking.post("/put-away", x_sent="number 2").status == 200
    assert asking.post("/put-away").status == 200
    assert asking.post("/put-away", x_sent="number 1", cookie=None).status == 410
    assert len(ended) == 3
    for _ in range(2):
        assert asking.put("/folder", {}, x_sent="number 3").status == 400
    assert len(asking.notes) == 3
    for number in range(MOST_ANSWERS):
        asking.post("/seen", x_sent=f"later {number}")
    assert len(asking.app.app._answers) == MOST_ANSWERS


def test_looking_changes_nothing_and_every_answer_is_fenced(asking: Asking) -> None:
    ended: list[str] = []
    asking.desk.put_away = lambda: ended.append("put away")
    answers = [asking.get("/put-away"), asking.get("/folder"), asking.get("/no/such/page")]
    assert {one.status for one in answers} <= {404, 405}
    assert not ended
    answers += [asking.get("/"), asking.get("/now"), asking.get("/", host="evil")]
    answers += [asking.get("/static/desk.js"), asking.get("/", cookie=None), asking.post("/folder")]
    for one in answers:
        assert one.headers["content-security-policy"].startswith("default-src 'none'; ")
        assert "unsafe" not in one.headers["content-security-policy"]
        assert "frame-ancestors 'none'" in one.headers["content-security-policy"]
        assert one.headers["cache-control"] == "no-store"
        assert one.headers["x-content-type-options"] == "nosniff"
        assert one.headers["referrer-policy"] == "no-referrer"
        assert not [name for name in one.headers if name.startswith("access-control")]


def test_pages_carry_no_script_and_no_style_of_their_own() -> None:
    """The policy would stop them, and they would be missed only in a browser."""
    templates = [*(STATIC.parent / "templates").glob("*.j2")]
    assert templates
    for path in templates:
        text = path.read_text()
        assert not re.search(r"<style|\sstyle=|\son\w+=|hx-on|hx-vals='js|javascript:", text), path
        assert not re.search(r"<script(?! src=\"/static/[\w.-]+\" defer></script>)", text), path
        assert not re.search(r'type="number"|hx-ext', text), path
        assert not re.search(r"https?://(?!www\.w3\.org/)", text), path


@pytest.mark.parametrize(
    "path",
    [
        "/static/../desk.py", "/static/%2e%2e/desk.py", "/static/..%2fdesk.py", "/static/%00",
        "/static//etc/passwd", "/static/..%5cdesk.py", "/../../etc/passwd", "/sheet/plate.toml",
        "/sheet/../plate.toml", "/sheet/%2e%2e%2fplate.toml", "//evil.example/", "/%0d%0aa:b",
    ],
)  # fmt: skip
def test_no_path_climbs_out(asking: Asking, path: str) -> None:
    answer = asking.get(path)
    assert answer.status in (400, 404, 405), answer.text
    assert "set-cookie" not in answer.headers


def test_bodies_that_are_too_large_or_none(asking: Asking, tmp_path: Path) -> None:
    tried = [
        (b"", 400), (b"{", 400), (b"[1]", 400), (b'"x"', 400), (b"null", 400), (b"\xff\xfe", 400),
        (b'{"folder": NaN}', 400), (b"[" * 200_000, 400), (b'{"a":' * 100_000, 400),
        (b'{"folder": 5}', 400), (b'{"folder": "sheets"}', 400), (b'{"folder": "/a\\u0000b"}', 409),
        (b"{}" + b" " * 10_000_001, 413), (json.dumps({"folder": str(Path.home())}).encode(), 409),
        (b'{"folder": "/"}', 409), (b'{"folder": "/no/such/place"}', 409),
    ]  # fmt: skip
    for body, status in tried:
        answer = asking.put("/folder", body)
        assert answer.status == status, (body[:60], answer.text)
        assert answer.json["said"]
    assert asking.put("/folder", {}, content_type="text/plain").status == 415
    assert asking.desk.moves_to is None
    assert len(asking.notes) == len(tried) + 1


def test_odd_names_go_by_an_id_and_links_lead_nowhere(tmp_path: Path) -> None:
    outside = tmp_path / "outside"
    folder = tmp_path / "sheets"
    (folder / "sub" / "deep").mkdir(parents=True)
    outside.mkdir()
    (outside / "secret.toml").write_text('part = "Not for you"\n')
    odd = ['a#b?%2e "x".toml', "<img src=x onerror=alert(1)>.toml", "{{ 7*7 }}.toml", "-rf.toml"]
    odd += ["ü\u202etxt.toml", "a\nb.toml", "sub/inner.toml", os.fsdecode(b"not-utf8-\xff.toml")]
    for name in odd:
        (folder / name).write_text(PLATE)
    (folder / "link.toml").symlink_to(outside / "secret.toml")
    (folder / "linked").symlink_to(outside)
    (folder / "passwd.toml").symlink_to("/etc/passwd")
    os.mkfifo(folder / "pipe.toml")
    (folder / ".hidden.toml").write_text(PLATE)
    (folder / "whole.nc").write_text("G0 X0\n")
    (folder / "shop.toml").write_text("[dials]\n")
    (folder / "both-assembly.toml").write_text('assembly = "Both"\n')
    with Asking(folder) as asking:
        _odd_names(asking, odd, outside)


def _odd_names(asking: Asking, odd: list[str], outside: Path) -> None:
    folder = asking.desk.folder
    files = asking.desk.files
    kinds = {one.name: one.kind for one in files.listing()}
    assert kinds == dict.fromkeys(odd, "part") | {
        "link.toml": "link", "passwd.toml": "link", "pipe.toml": "unread", "whole.nc": "program",
        "shop.toml": "shop", "both-assembly.toml": "assembly",
    }  # fmt: skip
    page = asking.get("/").text
    assert "<img" not in page
    assert "7*7" in page
    assert "\u202e" not in page
    for address in re.findall(r'href="(/sheet/[^"]*)"', page):
        assert re.fullmatch(r"/sheet/[0-9a-f]{16}(/text)?", address)
    for name in odd:
        assert files.read(id_of(name)) == PLATE.encode()
        assert files.path_of(id_of(name)) == folder.resolve() / name
        assert files.of(folder / name) == id_of(name)
    for name in ("link.toml", "passwd.toml", "linked/secret.toml", "../outside/secret.toml"):
        with pytest.raises(RefusedError):
            files.read(id_of(name))
        with pytest.raises(RefusedError):
            files.path_of(id_of(name))
    for name in ("pipe.toml", "/etc/passwd", ".hidden.toml", "sub", "", "nothing.toml"):
        with pytest.raises(RefusedError):
            files.read(id_of(name))
    with pytest.raises(MillprepError, match="outside the folder"):
        files.of(folder / "linked" / "secret.toml")
    # a folder that becomes a link after it was listed
    (folder / "sub" / "inner.toml").unlink()
    (folder / "sub" / "deep").rmdir()
    (folder / "sub").rmdir()
    (outside / "inner.toml").write_text("part = 'Not for you'\n")
    (folder / "sub").symlink_to(outside)
    with pytest.raises(RefusedError):
        files.read(id_of("sub/inner.toml"))
    with pytest.raises(RefusedError):
        files.path_of(id_of("sub/inner.toml"))


def test_what_changed_is_counted_by_file(asking: Asking) -> None:
    def numbers() -> dict[str, int]:
        asking.desk.looking.look()
        given: dict[str, int] = asking.get("/now").json["numbers"]
        return given

    plate, new, program = id_of("plate.toml"), id_of("new.toml"), id_of("plate.nc")
    assert numbers() == {}
    (asking.desk.folder / "plate.toml").write_text(PLATE + "# saved\n")
    (asking.desk.folder / "new.toml").write_text(PLATE)
    assert numbers() == {plate: 1, new: 1}
    (asking.desk.folder / "new.toml").unlink()
    (asking.desk.folder / "plate.nc").write_text("G0 X0\n")
    asking.desk.count(plate)  # its pencil, which is no file
    assert numbers() == {plate: 2, new: 2, program: 1}
    assert numbers() == {plate: 2, new: 2, program: 1}


def test_the_tables_are_asked_from_every_page(asking: Asking) -> None:
    """As `millprep lookup` has it; what is no size is answered with questions that are."""
    assert 'hx-get="/look-up"' in asking.get("/").text
    assert "<b>M6: tapping drill 5 mm (0.1969 in)" in asking.get("/look-up?words=M6").text
    assert asking.get("/look-up?words=").text.strip() == ""
    odd = asking.get("/look-up?words=%3Cscript%3Ewidget").text
    assert "&lt;script&gt;widget" in odd
    assert "<script" not in odd


def test_two_hundred_who_say_nothing_keep_nobody_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a real port, with words that are no request between them, and half a body."""
    monkeypatch.setattr("millprep.desk.desk.BODY_SECONDS", 0.2)
    (tmp_path / "sheets").mkdir()
    with served(tmp_path / "sheets") as serving:
        # else every answer waits 40 ms for the browser to say that it has its first half
        assert serving.socket.proto == socket.IPPROTO_TCP
        port = serving.desk.port
        cookie = {"Cookie": f"millprep_desk_{port}={serving.desk.secret}"}
        idle = [socket.create_connection(("127.0.0.1", port)) for _ in range(200)]
        for number, one in enumerate(idle):
            if number % 2:
                one.sendall(b"GET / HTTP/1.1\r\nHost: 127.0.0.1")
        rubbish = [
            b"\x16\x03\x01\x02\x00",
            b"GET\r\n\r\n",
            b"A" * 70_000,
            b"GET / HTTP/1.1\r\n\r\n",
        ]
        for words in rubbish:
            with socket.create_connection(("127.0.0.1", port)) as one:
                one.sendall(words)
                one.settimeout(5)
                answer = one.recv(100)
                assert answer[9:12] in (b"400", b"421"), answer
        half = socket.create_connection(("127.0.0.1", port), timeout=5)
        own = {"Host": f"127.0.0.1:{port}", "Origin": f"http://127.0.0.1:{port}", **cookie}
        own |= {"X-Millprep": "desk", "Content-Type": "application/json", "Content-Length": "100"}
        lines = "".join(f"{name}: {value}\r\n" for name, value in own.items())
        half.sendall(f"PUT /folder HTTP/1.1\r\n{lines}\r\n{{".encode())
        assert b" 408 " in half.recv(100)
        half.close()
        for _ in range(3):
            asked = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
            asked.request("GET", "/now", headers=cookie)
            assert asked.getresponse().status == 200
            asked.close()
        with pytest.raises(OSError, match=r"refused|timed out|unreachable"):
            socket.create_connection((_other_address(), port), timeout=2)
        for one in idle:
            one.close()


def _other_address() -> str:
    """Of this machine, as others see it; where it has none, one of its own that is not served."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(("192.0.2.1", 9))
            found = str(asked.getsockname()[0])
        except OSError:
            found = "127.0.0.1"
    return "127.0.0.2" if found == "127.0.0.1" else found
