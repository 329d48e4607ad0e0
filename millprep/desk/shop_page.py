"""The shop of the folder: the questions again, the drawer with ticks, and what the mill is."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from millprep.base.findings import MillprepError, WordError
from millprep.base.records import frozen
from millprep.desk.desk import Desk
from millprep.desk.drawer import Group, drawer, is_ticked, ticked
from millprep.desk.files import SHOP_FILE
from millprep.desk.new_piece import typed_in
from millprep.desk.own_shop import (
    SHOP_ID,
    answers_of,
    is_elsewhere,
    put_in_shop,
    questions,
    shop_text,
    text_of_shop,
)
from millprep.desk.refusals import RefusedError
from millprep.proven.drawer import in_toml
from millprep.proven.editing import Figure, as_written, put_down
from millprep.proven.files import packaged_shop

LISTS = {
    "drills": "Drills",
    "taps": "Taps",
    "reamers": "Reamers",
    "counterbores": "Counterbores",
    "countersinks": "Countersinks",
    "end_mills": "End mills",
    "spot_drills": "Spot drills",
}


@frozen
class ShopBox:
    """A box of the shop. value : as its file has it; usual : as the packaged shop has it"""

    key: str
    label: str
    sentence: str
    value: str
    usual: str


def page(request: Request) -> Response:
    """Questions, drawer, and the boxes of mill and holding."""
    desk: Desk = request.app.state.desk
    text = text_of_shop(desk)
    groups, fault = _drawer(text)
    kept = desk.kept.of(desk.folder / SHOP_FILE)
    has_file = kept.path.is_file()
    return desk.page(
        request,
        "shop.html.j2",
        questions=questions(),
        answers=answers_of(desk),
        lists={label: [one for one in groups if one.kind == kind] for kind, label in LISTS.items()},
        is_ticked=bool(text) and not fault and is_ticked(text),
        boxes=[] if fault else _boxes(text, desk.shop),
        fault=fault,
        elsewhere=Path(desk.shop).name if is_elsewhere(desk) else "",
        shop_id=SHOP_ID,
        has_file=has_file,
        back=kept.would_take_back() if has_file else None,
        forward=kept.would_bring_back() if has_file else None,
    )


def _drawer(text: str) -> tuple[tuple[Group, ...], str]:
    """The groups, and why there are none."""
    try:
        return drawer(text), ""
    except (MillprepError, WordError):
        return (), "The text of the shop does not read: mend it there first."


def _boxes(text: str, shop: str) -> list[tuple[str, list[ShopBox]]]:
    own = as_written(text).values if text else {}
    base = own.get("base") or ("inch" if "inch" in (shop, own.get("units")) else "metric")
    usual = as_written(packaged_shop(base)).values
    return [
        (group["label"], [_box(row, own, usual) for row in group["boxes"]]) for group in _groups()
    ]


def _box(row: dict[str, Any], own: dict[str, str], usual: dict[str, str]) -> ShopBox:
    key = row["key"].removesuffix(".{}")
    return ShopBox(key, row["label"], row["sentence"], _shown(row, own), _shown(row, usual))


def _shown(row: dict[str, Any], values: dict[str, str]) -> str:
    """What stands in a file: of several figures, with commas between."""
    if "ends" not in row:
        return values.get(row["key"], "").strip("[]").replace('"', "")
    ends = [values.get(row["key"].format(n), "") for n in range(row["ends"])]
    return ", ".join(ends) if all(ends) else ""


@cache
def _groups() -> tuple[dict[str, Any], ...]:
    text = Path(__file__).with_name("shop_boxes.toml").read_text(encoding="utf-8")
    return tuple(tomllib.loads(text)["group"])


async def put_answers(request: Request) -> Response:
    """The questions answered: those that are in the body."""
    given = typed_in(await _given(request))
    if not given:
        raise RefusedError(400, "tick one of each first")
    return await _put(request, lambda text: shop_text(given, text), "the questions answered")


async def put_tick(request: Request) -> Response:
    """Sizes of one list ticked, or their ticks taken out. names, has, kind : in the body"""
    given = await _given(request)
    kind, names, has = str(given.get("kind")), given.get("names"), given.get("has") is True
    if kind not in LISTS or not isinstance(names, list):
        raise RefusedError(400, "the page asked for something that is not there")
    told = {str(one) for one in names}
    what = LISTS[kind].lower()

    def make(text: str) -> str:
        now = [x.name for one in drawer(text) if one.kind == kind for x in one.sizes if x.is_ticked]
        left = [one for one in now if has or one not in told]
        return ticked(text, kind, list(dict.fromkeys([*left, *(sorted(told) if has else [])])))

    words = f"{what}: {len(told)} {'ticked' if has else 'no more there'}"
    return await _put(request, make, words)


async def put_figure(request: Request) -> Response:
    """One box of the shop. An empty one goes back to the packaged shop's figure."""
    given = typed_in(await _given(request))
    rows = {row["key"].removesuffix(".{}"): row for one in _groups() for row in one["boxes"]}
    ((key, words),) = given.items() if len(given) == 1 else (("", ""),)
    if key not in rows:
        raise RefusedError(400, "the page asked for something that is not there")
    row, (table, _, inner) = rows[key], key.partition(".")
    value = _listed(words) if words and ("list" in row or "ends" in row) else words

    def make(text: str) -> str:
        return put_down(text or 'base = "metric"\n', Figure(table, inner, value or None))

    return await _put(request, make, f"{row['label']}: {words or 'as usual'}", at=key)


def _listed(words: str) -> str:
    """Figures with commas between, as a list of the file: 3/8, 1/2."""
    parts = [one.strip() for one in words.split(",") if one.strip()]
    return f"[{', '.join(one if _is_number(one) else in_toml(one) for one in parts)}]"


def _is_number(words: str) -> bool:
    try:
        float(words)
    except ValueError:
        return False
    return True


async def step(request: Request) -> Response:
    """Back or forward."""
    desk: Desk = request.app.state.desk
    kept = desk.kept.of(desk.folder / SHOP_FILE)
    is_back = request.path_params["way"] == "back"
    await run_in_threadpool(lambda: kept.step_back() if is_back else kept.step_forward())
    desk.count(SHOP_ID)
    return JSONResponse({"go": "/shop"})


async def begin(request: Request) -> Response:
    """The file of the shop, to be altered as a text."""
    answer = await _put(request, lambda text: text or 'base = "metric"\n', "the shop begun")
    return answer if answer.status_code >= 400 else JSONResponse({"go": f"/sheet/{SHOP_ID}/text"})


async def _given(request: Request) -> dict[str, Any]:
    desk: Desk = request.app.state.desk
    if is_elsewhere(desk):
        raise RefusedError(409, "this desk goes by a shop that lies elsewhere: alter it there")
    return await desk.json_of(request)


async def _put(request: Request, make: Any, words: str, at: str = "") -> Response:
    """at : the box that is told why it was not done"""
    desk: Desk = request.app.state.desk
    try:
        why = await run_in_threadpool(put_in_shop, desk, make, words)
    except KeyError as error:
        raise RefusedError(
            400, f"the page asked for something that is not there: {error}"
        ) from None
    if why:
        return JSONResponse({"why": {at: "; ".join(why)}})
    kept = desk.kept.of(desk.folder / SHOP_FILE)
    state = await run_in_threadpool(lambda: kept.now)
    return JSONResponse({"kept": state.clock, "back": kept.would_take_back() or ""})


ROUTES = [
    Route("/shop", page),
    Route("/shop/answers", put_answers, methods=["POST"]),
    Route("/shop/drawer", put_tick, methods=["POST"]),
    Route("/shop/figure", put_figure, methods=["POST"]),
    Route("/shop/begin", begin, methods=["POST"]),
    Route("/shop/step/{way}", step, methods=["POST"]),
]
