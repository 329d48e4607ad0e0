"""Changes every digit of every reference table, one at a time, and reports what nobody noticed.

It is no test: `test_second_typing.py` changes a digit of every cell with each run of the tests;
this changes all the digits in the text of each table's rows. A change is
noticed where the table is refused or differs from its second typing.

Run: PYTHONPATH=.:tests python tests/long/every_digit.py [TABLE ...]
"""

from __future__ import annotations

import sys

from test_second_typing import differences, typed

from millprep.reference.tables import DATA, parse_table, table_names


def is_noticed(name: str, text: str) -> bool:
    """Whether a table with this text is refused, or differs from its second typing."""
    try:
        return any(differences(parse_table(name, text), typed(name)))
    except ValueError:
        return True


def main(names: list[str]) -> int:
    """Exit status 1 if a changed digit was not noticed; prints the count of each table."""
    missed = 0
    for name in names or table_names():
        text = (DATA / f"{name}.toml").read_text("utf-8")
        start = text.index("rows = [")
        end = text.index("\n]", start)
        places = [at for at in range(start, end) if text[at].isdigit()]
        assert not is_noticed(name, text)
        for at in places:
            changed = f"{text[:at]}{(int(text[at]) + 1) % 10}{text[at + 1 :]}"
            if not is_noticed(name, changed):
                missed += 1
                line = text[:at].count("\n") + 1
                print(f"{name}, line {line}: a changed {text[at]} was not noticed")
        print(f"{name}: {len(places)} digits")
    return min(missed, 1)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
