"""Which lines belong together: sub and endsub, if and endif, a loop and its end.

Worked out once for a file (O words) or for one of its programs (letter style). A line that does not
fit is told when it is reached, for what is not run does no harm.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from millprep.reading.gcode.arithmetic import Environment
from millprep.reading.gcode.flow.sources import LOOP_LINE, O_LINE, Place, Source
from millprep.reading.gcode.flow.statements import End, Loop, OWord, Statement, statement_of
from millprep.reading.gcode.lines import bare_text, decode, raw_line
from millprep.reading.gcode.report import Refused

_OPENS = {"SUB": "sub", "IF": "if", "WHILE": "while", "DO": "do", "REPEAT": "repeat"}
_CLOSES = {"ENDSUB": "sub", "ENDIF": "if", "ENDWHILE": "while", "ENDREPEAT": "repeat"}
_LOOPS = frozenset({"while", "do", "repeat"})


@dataclass(slots=True)
class Block:
    """kind : "sub", "if", "while", "do", "repeat" or "loop", the last in letter style

    lines, words : its own, from the one that opens it to the one that closes it
    fault : why it cannot be run, if so
    """

    kind: str
    label: str
    lines: list[Place]
    words: list[str]
    fault: str = ""
    is_closed: bool = False

    def add(self, place: Place, word: str) -> None:
        """A further line."""
        if "ELSE" in self.words and word in ("ELSE", "ELSEIF"):
            self.fault = f"{word.lower()} on line {place.number} behind an else"
        self.lines.append(place)
        self.words.append(word)

    @property
    def first(self) -> Place:
        return self.lines[0]

    @property
    def last(self) -> Place:
        return self.lines[-1]


@dataclass(slots=True)
class Blocks:
    """of : the block that a line opens, parts, closes or leaves, by where the line begins

    subs : label -> subprograms of that name
    """

    of: dict[int, Block] = field(default_factory=dict)
    subs: dict[str, list[Block]] = field(default_factory=dict)
    closed: list[Block] = field(default_factory=list)

    def around(self, position: int) -> set[int]:
        """Where the loops begin that a place in letter style is in."""
        return {
            block.first.position
            for block in self.closed
            if block.first.position < position <= block.last.position
        }


def o_blocks(source: Source, environment: Environment) -> Blocks:
    """The blocks of O words of a file."""
    blocks = Blocks()
    stack: list[Block] = []
    for place in source.lines_of(O_LINE, 0, source.end):
        statement = statement_at(source, place, environment)
        if statement is not None and statement.o_word is not None and not statement.is_deleted:
            _add_o_word(blocks, stack, place, statement.o_word)
    return blocks


def _add_o_word(blocks: Blocks, stack: list[Block], place: Place, o_word: OWord) -> None:
    label, word = o_word.label, o_word.word
    if word == "CALL" or not isinstance(label, str):
        return
    top = (stack[-1].kind, stack[-1].label) if stack else None
    if word in _OPENS and (word, top) != ("WHILE", ("do", label)):
        block = Block(_OPENS[word], label, [place], [word])
        if word != "SUB" and _found(stack, label, _LOOPS | {"if"}) is not None:
            block.fault = f"o{label.lower()} stands within another o{label.lower()}"
        stack.append(block)
        blocks.of[place.position] = block
        if word == "SUB":
            blocks.subs.setdefault(label, []).append(block)
        return
    found = _found(stack, label, _kinds_of(word))
    if found is None:
        return
    blocks.of[place.position] = found
    if word in _CLOSES or word == "WHILE":
        found.add(place, word)
        found.is_closed = found is stack[-1]
        del stack[stack.index(found) :]
    elif word in ("ELSEIF", "ELSE"):
        found.add(place, word)


def _found(stack: list[Block], label: str, kinds: frozenset[str]) -> Block | None:
    """The innermost open block of that label and kind in the subprogram that a line is in."""
    for block in reversed(stack):
        if block.kind in kinds and block.label == label:
            return block
        if block.kind == "sub":
            return None
    return None


def _kinds_of(word: str) -> frozenset[str]:
    if word in _CLOSES:
        return frozenset({_CLOSES[word]})
    if word in ("ELSEIF", "ELSE"):
        return frozenset({"if"})
    return {"RETURN": frozenset({"sub"}), "WHILE": frozenset({"do"})}.get(word, _LOOPS)


def loop_blocks(source: Source, section: tuple[int, int], environment: Environment) -> Blocks:
    """The loops of DO and END of one program of a file."""
    blocks = Blocks()
    stack: list[Block] = []
    for place in source.lines_of(LOOP_LINE, *section):
        statement = statement_at(source, place, environment)
        if statement is None or statement.is_deleted:
            continue
        for piece in statement.pieces:
            if isinstance(piece, Loop):
                block = Block("loop", str(piece.number), [place], ["DO"])
                if _found(stack, block.label, frozenset({"loop"})) is not None:
                    block.fault = f"DO{block.label} within another DO{block.label}"
                stack.append(block)
                blocks.of[place.position] = block
            elif isinstance(piece, End):
                _end_loop(blocks, stack, place, str(piece.number))
    return blocks


def _end_loop(blocks: Blocks, stack: list[Block], place: Place, label: str) -> None:
    if not stack or stack[-1].label != label:
        return
    block = stack.pop()
    block.add(place, "END")
    block.is_closed = True
    blocks.closed.append(block)
    blocks.of.setdefault(place.position, block)


def statement_at(source: Source, place: Place, environment: Environment) -> Statement | None:
    """The statement on a line; None also where it is refused, which is told when it is reached."""
    raw, _ = raw_line(source.data, place.position)
    try:
        bare = bare_text(decode(raw), is_strict=environment.is_strict)
        return statement_of(bare.text, environment)
    except Refused:
        return None
