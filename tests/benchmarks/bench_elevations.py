"""How long the drawing sheet of the page takes: `python tests/benchmarks/bench_elevations.py`."""

from __future__ import annotations

import time
from pathlib import Path
from tempfile import TemporaryDirectory

from millprep.infiles import read_part
from millprep.model.part import Part
from millprep.proven.elevations import elevations, figures_of, part_picture

HEAD = """part = "Plate"
units = "mm"
material = "mild steel"
[stock]
size = [300, 200, 12]
[datum]
x = "left"
"""


def _part(folder: Path, text: str) -> Part:
    path = folder / "part.toml"
    path.write_text(HEAD + text, encoding="utf-8")
    return read_part(path)[0]


def _singles(count: int) -> str:
    """Holes with a place of their own each, the worst for figures."""
    return "".join(
        f'[[hole]]\nname = "h{n}"\ndrill = 3\ndepth = "through"\n'
        f"at = [{8 + 7 * (n % 40)}, {8 + 7 * (n // 40)}]\n"
        for n in range(count)
    )


def _grids(count: int) -> str:
    return "".join(
        f'[[hole]]\nname = "g{n}"\ntap = "M4"\ndepth = 8\nface = "{face}"\n'
        f"grid = {{ start = [8, {8 + n}], step = [11, 7], columns = 25, rows = {count // 50} }}\n"
        for n, face in enumerate(("top", "bottom"))
    )


def _best(call: object, *given: object) -> float:
    times = []
    for _ in range(5):
        start = time.perf_counter()
        call(*given)  # type: ignore[operator]
        times.append(time.perf_counter() - start)
    return 1000 * min(times)


def main() -> None:
    """A line a part: views, figures, card, and how large the views are as text."""
    print("holes          views    figures   card   size of the views")
    with TemporaryDirectory() as name:
        for words, text in (
            ("50 singles", _singles(50)),
            ("1000 singles", _singles(1000)),
            ("50 in grids", _grids(50)),
            ("1000 in grids", _grids(1000)),
        ):
            part = _part(Path(name), text)
            size = sum(len(view.svg) for view in elevations(part).views)
            print(
                f"{words:14} {_best(elevations, part):5.0f} ms {_best(figures_of, part):5.0f} ms "
                f"{_best(part_picture, part):5.0f} ms {size / 1000:6.0f} kB"
            )


if __name__ == "__main__":
    main()
