"""The desk's forms: each key of the part file as a box with the words of the workshop.

Which keys there are and what they take, the models say; `words.toml` says what they are called.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any, Literal

from millprep.base.findings import Severity
from millprep.base.kinds import KINDS
from millprep.base.records import frozen, replace
from millprep.proven.forms import Entry, entries_of

Takes = Literal[
    "figure", "count", "size", "words", "choice", "tick", "several", "place", "places", "heading"
]
_NUMBER = re.compile(r"\.\d+(?=\.|$)")
_LAST_NUMBER = re.compile(r"\.\d+$")
_OTHER_END = "far"


@frozen
class Box:
    """A box of a form.

    key      : dotted inside its table; "size.0" is the first of three
    takes    : "size" is a figure that the tables of drills know; "place" two figures, each with
               the edge that it is measured from (`edges_across`); "heading" no box, but what stands
               over those below it
    choices  : (value, label); of a figure or words: what may be chosen in place of them
    picture  : a symbol of static/signs.svg; "" where there is none
    group    : of a hole's line, a key of `group_labels`; "" in other tables
    offers   : what completes it, as `proven.offered` has it, or the "holes" of the part, the
               "pieces" of the folder, the "kinds" of its choices; "" where nothing does
    """

    key: str
    label: str
    sentence: str
    at_once: bool
    takes: Takes
    choices: tuple[tuple[str, str], ...] = ()
    picture: str = ""
    group: str = ""
    offers: str = ""
    is_needed: bool = False


@cache
def words() -> dict[str, Any]:
    """All of words.toml."""
    return tomllib.loads(Path(__file__).with_name("words.toml").read_text(encoding="utf-8"))


@cache
def form(table: str) -> tuple[Box, ...]:
    """Headings and boxes, in the order of a form.

    table : "part" (the top), "opposite" (the top of another hand), "stock", "datum", "defaults",
            "hole", "dimension" or "setup". Raises KeyError for another, or a key without words.
    """
    entries = {entry.key: entry for entry in entries_of(table)}
    rows = _rows(table)
    order = {key: at for at, key in enumerate(rows)}
    here = sorted(entries, key=lambda key: order[_OTHER_END if _is_at_other_end(key) else key])
    return tuple(_box(entries[key], rows) for key in here)


def boxes(table: str) -> tuple[Box, ...]:
    """Every key of that table that has a value of its own, in the order of a form."""
    return tuple(box for box in form(table) if box.takes != "heading")


def label_of(table: str, key: str) -> str:
    """What a key is called; of a figure of a place, with its edge. "" where no form has it.

    One of several tables or places is called as all of them: "obstacle.0.name", "at.1.left". Of a
    list of a fixed length, "size", the labels of its members.
    """
    head, _, rest = key.partition(".")
    labels = {box.key: box.label for box in form(table)}
    if table == "part" and head not in labels and head in words()["tables"]:
        return label_of(head, rest) if rest else table_label(head)
    plain, last = _NUMBER.sub("", key), _LAST_NUMBER.search(key)
    for one in (key, plain + (last[0] if last else ""), plain):
        if one in labels:
            return labels[one]
    place, _, edge = plain.rpartition(".")
    for edges in words()["edges"].values():
        if edge in edges and place in labels:
            return f"{labels[place]}, {edges[edge]}"
    return ", ".join(label for each, label in labels.items() if _NUMBER.sub("", each) == plain)


def typed(values: Mapping[str, str], key: str) -> str:
    """What a file has for a box, of the values that stand in it (`Line.values`); "" for nothing.

    A list that stands there whole, "row.step": "[10, 0]", is told figure by figure.
    """
    whole, _, number = key.rpartition(".")
    if key in values or not (number.isdigit() and whole in values):
        return values.get(key, "")
    figures = [one.strip() for one in values[whole].strip("[] ").split(",")]
    return figures[int(number)].strip("\"'") if int(number) < len(figures) else ""


def edges_across(face: str) -> tuple[tuple[tuple[str, str], ...], ...]:
    """From where the two figures of a place on that face may be measured: (value, label) each."""
    return tuple(tuple(edges.items()) for edges in words()["edges"].values() if face not in edges)


def pictures_of_choices() -> dict[str, str]:
    """The faces of a block, each with the name of its picture."""
    return {face: f"face-{face}" for face in words()["choices"]["faces"]}


def group_labels() -> dict[str, str]:
    """The groups of a hole's line, in their order."""
    return dict(words()["groups"])


def table_label(table: str) -> str:
    """What a table of the part file is called."""
    return str(words()["tables"][table])


def severity_label(severity: Severity) -> str:
    """How bad it is, as said at the desk."""
    return str(words()["severities"][severity])


def _rows(table: str) -> dict[str, Any]:
    """The rows of a table in their order; of all holes those of a hole."""
    return dict(words()["hole" if table == "defaults" else table])


def _is_at_other_end(key: str) -> bool:
    return key.startswith(f"{_OTHER_END}.")


def _box(entry: Entry, rows: dict[str, Any]) -> Box:
    key, row = entry.key, rows.get(entry.key)
    if row is None and _is_at_other_end(key):
        here = _box(replace(entry, key=key.removeprefix(f"{_OTHER_END}.")), rows)
        end = rows[_OTHER_END]
        label = f"{end['label']}: {here.label}"
        return replace(here, key=key, label=label, picture=end["picture"], at_once=False)
    row = rows[key]
    offers = row.get("offers", "")
    takes: Takes = "heading" if entry.takes == "keys" else entry.takes
    return Box(
        key,
        row["label"],
        row["sentence"],
        row.get("first", False),
        "size" if offers == "sizes" and takes == "figure" else takes,
        _choices(row, offers),
        row.get("picture", ""),
        rows.get(key.partition(".")[0], row).get("group", ""),
        offers,
        entry.is_needed,
    )


def _choices(row: dict[str, Any], offers: str) -> tuple[tuple[str, str], ...]:
    said = row.get("words", {})
    if offers == "kinds":
        return tuple((slug.replace("-", " "), sentence) for slug, sentence in KINDS.items())
    return tuple((words()["choices"][said] if isinstance(said, str) else said).items())
