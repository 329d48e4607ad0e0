"""File names: made of what a person types, and those that a shared folder makes. Imports layer 0.

What one system takes and another refuses, or takes for the same name, is refused here in words.
"""

from __future__ import annotations

import re
import unicodedata
from pathlib import Path

from millprep.base.bounds import LONGEST_FILE_NAME
from millprep.base.findings import MillprepError, stopped

# Windows takes these for devices, whatever their ending
_DEVICES = {"con", "prn", "aux", "nul"} | {f"{one}{n}" for one in ("com", "lpt") for n in range(10)}
_HIDDEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
"""Unicode categories of what is not seen, or turns the writing round."""
_CONFLICTED = re.compile(r".[ ._(-](conflict(ed|s)?)([ ._)-]|$)", re.IGNORECASE)


def new_name(folder: Path, words: str, ending: str = ".toml") -> Path:
    """Where a new file of this name is to stand: "Bearing block 1/2" in bearing-block-1-2.toml.

    Raises MillprepError for words that make no safe name, and for a name that some system takes
    for that of a file which is there.
    """
    if hidden := [letter for letter in words if unicodedata.category(letter) in _HIDDEN]:
        raise _refused(f"has a letter that is not seen (U+{ord(hidden[0]):04X})", "type it anew")
    stem = _stem(words)
    if not stem:
        raise _refused("has no letter or figure in it", 'type a name, as "Bearing block"')
    if len(stem) > LONGEST_FILE_NAME:
        raise _refused(f"is longer than {LONGEST_FILE_NAME} letters", "shorten it")
    if stem in _DEVICES:
        raise _refused(f'cannot be "{stem}", which some PCs keep for a device', "add a word to it")
    path = folder / f"{stem}{ending}"
    twin = next((one for one in folder.iterdir() if _alike(one.name) == _alike(path.name)), None)
    if twin is not None:
        why = f"makes the file {path.name}, and {twin.name} is there already"
        raise _refused(why, "choose another name")
    return path


def _stem(words: str) -> str:
    """Small letters and figures, anything else between them a dash."""
    plain = unicodedata.normalize("NFKC", words).lower()
    kept = (letter if unicodedata.category(letter)[0] in "LNM" else " " for letter in plain)
    return "-".join("".join(kept).split())


def _alike(name: str) -> str:
    """The same for names that some system takes for one: large and small, accents in two ways."""
    return unicodedata.normalize("NFC", unicodedata.normalize("NFKC", name).casefold())


def is_conflicted_copy(name: str) -> bool:
    """Whether a synchronised folder has made it of two versions of a file: never opened by itself.

    "left (conflicted copy 2026-03-01).toml", "left.conflict.toml"
    """
    return _CONFLICTED.search(Path(name).stem) is not None


def _refused(why: str, remedy: str) -> MillprepError:
    return stopped("output-refused", f"the name {why}", remedy)
