"""Words of a command line that do not make a command: what is wrong, and one that would do."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path
from typing import Any

from millprep.base.findings import Finding
from millprep.cli.app import MODULES

_EXAMPLES = {
    "part": "bracket.toml",
    "file": "bracket.toml",
    "files": "bracket.nc --part bracket.toml",
    "measured": "measured.csv",
    "words": "M6; what has a # goes in quotes: '#7'",
    "kind": "part",
    "assembly": "engine.toml",
}
_WHICH = {
    "part": "which part?",
    "file": "which file?",
    "files": "which program?",
    "measured": "which measurements?",
    "words": "look up what?",
    "kind": "of which kind of file?",
}
"""What is asked for each argument of a command, and an example of it."""
_ENDINGS = {"drawing": (".pdf", ".svg", ".png", ".dxf"), "bench": (".html",), "program": (".nc",)}
"""Of the files that commands cannot do without."""


def usage_finding(error: Any, given: list[str]) -> Finding:
    """What is wrong with these words, as a finding. error : of the library that reads them"""
    command = given[0] if given[0] in MODULES else ""
    name = getattr(getattr(error, "param", None), "name", None)
    kind = type(error).__name__
    if kind == "MissingParameter" and name == "output":
        message, remedy = _no_output(command, given)
    elif kind == "MissingParameter" and name in _WHICH:
        example = _EXAMPLES[command if command in _EXAMPLES else name]
        message, remedy = _WHICH[name], " ".join(["millprep", *given, example])
    else:
        message, remedy = _other(error, given, command)
    return Finding("stop", "unknown-word", message, remedy)


def _no_output(command: str, given: list[str]) -> tuple[str, str]:
    first, *others = _ENDINGS[command]
    part = next((word for word in given[1:] if word.endswith(".toml")), "bracket.toml")
    more = f" (or {', '.join(others)})" if others else ""
    return f"{command} writes a file", f"name the file: -o {Path(part).stem}{first}{more}"


def _other(error: Any, given: list[str], command: str) -> tuple[str, str]:
    said = error.format_message()
    see = f"see millprep {command} --help" if command else "see millprep --help"
    option = getattr(error, "option_name", None)
    if type(error).__name__ == "NoSuchOption":
        likely = error.possibilities or ()
        hint = f"did you mean {' or '.join(likely)}?" if likely else see
        return f"there is no option {option}", hint
    if found := re.match(r"No such command '(.*?)'", said):
        return f'there is no command "{found[1]}"', _likely_command(found[1])
    if found := re.match(r"Got unexpected extra arguments?(?:\(s\))? \((.*)\)", said):
        return f"too many words: {found[1]}", f"a name with blanks goes in quotes; {see}"
    if option is not None and "requires" in said:
        return f"{option} has no value", see
    if option is not None and "take" in said:
        return f"{option} takes no value", f"write {option} alone"
    if found := re.match(r"Invalid value for '(-[\w-]+)'.*\bint(?:eger)?\b", said):
        return f'{found[1]}: "{_value_after(found[1], given)}" is not a whole number', see
    return said, see


def _likely_command(word: str) -> str:
    from difflib import get_close_matches

    if word.endswith((".toml", ".nc")):
        return (
            f"the command comes first: millprep {'check' if word[-1] == 'l' else 'dryrun'} {word}"
        )
    likely = get_close_matches(word, MODULES, 1)
    return f"did you mean {likely[0]}?" if likely else f"there are: {', '.join(MODULES)}"


def _value_after(option: str, given: list[str]) -> str:
    """What was given for an option, as `--setup 2` or `--setup=2`."""
    for word, following in pairwise([*given, ""]):
        name, _, value = word.partition("=")
        if name == option:
            return value or following
    return ""
