"""How wide words are in the standard typeface of a PDF. Imports nothing."""

# Source: Adobe's metrics of Helvetica, thousandths of the size, from the blank to the tilde; its
# figures and signs are as wide in bold.
_WIDTHS = (
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278,
    556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556,
    1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778,
    667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556,
    333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556,
    556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
)  # fmt: skip
_OTHER_WIDTH = 556  # the en dash among them


def width_pt(words: str, size_pt: float) -> float:
    """How long words come out in points; those in bold come out a little longer."""
    letters = (ord(one) - ord(" ") for one in words)
    wide = sum(_WIDTHS[n] if 0 <= n < len(_WIDTHS) else _OTHER_WIDTH for n in letters)
    return wide / 1000 * size_pt
