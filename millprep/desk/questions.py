"""The questions that every sheet hangs on, asked once, and the shop's file that comes of them."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path

from millprep.base.records import frozen
from millprep.proven.editing import Figure, as_written, put_down

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
