"""What completes a box of a form: words that the tables have, as the part file takes them."""

from __future__ import annotations

from functools import cache


@cache
def offered(what: str) -> tuple[str, ...]:
    """Words from the tables, in the order in which they are looked through.

    what : "sizes" (of drills), "threads", "screws" (by their thread), "cap screws", "countersunk
           screws", "materials" or "fits". Empty for what no table has: the holes of a part, say.
    """
    maker = {
        "sizes": _sizes,
        "threads": _threads,
        "screws": _threads_with_clearance,
        "cap screws": lambda: _with_head("socket head"),
        "countersunk screws": lambda: _with_head("countersunk"),
        "materials": _materials,
        "fits": _fits,
    }.get(what)
    return () if maker is None else maker()


def _sizes() -> tuple[str, ...]:
    """A number as it is called at the bench: "No. 27"."""
    from millprep.reference.drills import DRILL_SERIES, drills

    words = (drill.designation for series in DRILL_SERIES for drill in drills(series))
    return tuple(f"No. {word[1:]}" if word.startswith("#") else word for word in words)


def _threads() -> tuple[str, ...]:
    from millprep.reference.threads import threads

    return tuple(thread.designation for thread in threads())


def _threads_with_clearance() -> tuple[str, ...]:
    """Those whose name alone says what hole clears the screw."""
    from millprep.base.findings import WordError
    from millprep.sizes import read_clear

    found = []
    for words in _threads():
        try:
            read_clear(words, "mm")
        except WordError:
            continue
        found.append(words)
    return tuple(found)


def _with_head(kind: str) -> tuple[str, ...]:
    """Screws of one kind of head, where a table has it whole."""
    from millprep.reference.heads import HEAD_KINDS, head_for
    from millprep.reference.threads import threads

    of = next(each for each in HEAD_KINDS if each == kind)
    heads = [head_for(thread, of) for thread in threads()]
    return tuple(
        dict.fromkeys(
            head.screw
            for head in heads
            if head and (kind != "socket head" or head.counterbore_depth_mm is not None)
        )
    )


def _materials() -> tuple[str, ...]:
    from millprep.reference.materials import materials

    return tuple(one.name for one in materials())


def _fits() -> tuple[str, ...]:
    """The hole's side of the fits that are common practice, and the usual holes beside them."""
    from millprep.reference.fits import recommended_fits

    purposes = ("locate", "press", "slide", "pivot")
    holes = [fit.hole for purpose in purposes for fit in recommended_fits(purpose)]
    return tuple(dict.fromkeys(holes))
