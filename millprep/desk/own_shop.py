"""The shop of the folder: its text, begun over a packaged one, and the questions asked once."""

from __future__ import annotations

import threading
import tomllib
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path

from millprep.base.findings import MillprepError, WordError
from millprep.base.records import frozen
from millprep.base.units import Units
from millprep.desk import changing
from millprep.desk.desk import Desk
from millprep.desk.files import SHOP_FILE, id_of
from millprep.desk.saying import said
from millprep.proven.editing import Figure, as_written, faults_in, put_down

SHOP_ID = id_of(SHOP_FILE)
_ONE_AT_A_TIME = threading.Lock()


def text_of_shop(desk: Desk) -> str:
    """The text of the shop that the desk goes by; "" where that is a packaged one.

    Of a file that cannot be read too: what is wrong with it, its sheets say.
    """
    path = Path(desk.shop)
    try:
        return path.read_text(encoding="utf-8") if path.suffix else ""
    except (OSError, UnicodeDecodeError):
        return ""


def is_elsewhere(desk: Desk) -> bool:
    """Whether the desk goes by a shop's file that was named at its start, not by the folder's."""
    path = Path(desk.shop)
    return bool(path.suffix) and path.resolve() != desk.folder / SHOP_FILE


def put_in_shop(desk: Desk, make: Callable[[str], str], words: str) -> tuple[str, ...]:
    """The text of the folder's shop made anew by `make`; why it was not, where it would not read.

    Where there is none yet it is begun over the packaged shop that the desk goes by. words : what
    is done, as a step back says it. Raises as `Kept.make` and `KeptFile.keep`.
    """
    path = desk.folder / SHOP_FILE
    with _ONE_AT_A_TIME:
        if path.exists():
            made = changing.put_edits(desk.kept.of(path), make, words)
            why = made.why
        else:
            text = make(shop_text({"units": "inch"}) if desk.shop == "inch" else "")
            faults = faults_in(text, path)
            why = tuple(said(one).sentence for one in faults)
            if not faults:
                desk.kept.make(path, text.encode(), words)
        if not why:
            desk.goes_by_its_folder()
            desk.count(SHOP_ID)
    return why


def answers_of(desk: Desk) -> dict[str, str]:
    """What was answered to the questions that every sheet hangs on, as `questions.answered`."""
    text = text_of_shop(desk)
    try:
        return answered(text) if text else {}
    except (MillprepError, WordError):
        return {}


def units_of(desk: Desk) -> Units:
    """What a new piece is in, unless it says otherwise."""
    return "inch" if answers_of(desk).get("units", desk.shop) == "inch" else "mm"


_BEGUN = (
    "# The shop of this folder, as answered at the desk. Lines that begin with # are not read.\n"
)


@frozen
class Answer:
    """One answer. puts : the figures of the shop's file, a value of "" strikes one out"""

    name: str
    label: str
    puts: tuple[Figure, ...]


@frozen
class Question:
    """One question, in one line, with a sentence for those who hesitate."""

    name: str
    asks: str
    sentence: str
    answers: tuple[Answer, ...]


@cache
def questions() -> tuple[Question, ...]:
    """In the order in which they are asked: "units", "measures", "paper"."""
    text = Path(__file__).with_name("questions.toml").read_text(encoding="utf-8")
    return tuple(
        Question(
            row["name"],
            row["asks"],
            row["sentence"],
            tuple(
                Answer(one["name"], one["label"], tuple(Figure(*put) for put in one["puts"]))
                for one in row["answers"]
            ),
        )
        for row in tomllib.loads(text)["question"]
    )


def shop_text(answers: Mapping[str, str], text: str = "") -> str:
    """The text of shop.toml with these answers in it, by the names of questions and answers.

    text : as it stands; what is not asked stays to the letter. Raises KeyError for a question or
    an answer that there is not, WordError for a text that cannot be edited.
    """
    asked = {one.name: one for one in questions()}
    for name, answer in answers.items():
        known = {each.name: each for each in asked[name].answers}
        text = put_down(text or _BEGUN, *known[answer].puts)
    return text


def answered(text: str) -> dict[str, str]:
    """The answers that stand in the text of a shop, by the names of their questions.

    A question that is missing has not been answered. Raises WordError for a text that is no TOML.
    """
    values = as_written(text).values
    return {
        question.name: answer.name
        for question in questions()
        for answer in reversed(question.answers)
        if all(values.get(_key(put), "") == put.value for put in answer.puts)
    }


def _key(figure: Figure) -> str:
    return figure.key if figure.table == "shop" else f"{figure.table}.{figure.key}"
