"""The shop of the folder: its text, and a copy over the packaged shop at the first change.

Imports `changing`, `desk`, `drawer`, `questions`.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path

from millprep.base.findings import MillprepError, WordError
from millprep.base.units import Units
from millprep.desk import changing
from millprep.desk.desk import Desk
from millprep.desk.files import SHOP_FILE, id_of
from millprep.desk.questions import answered, shop_text
from millprep.desk.saying import said
from millprep.proven.editing import faults_in

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
            made = changing.put_edits(desk.kept.of(path), path, make, words)
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
