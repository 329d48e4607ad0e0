"""How fast lines are read that are run over and over: beside straight text, in one run.

    python tests/benchmarks/bench_flow.py

Prints the time a line of a million lines run, and its ratio to straight text, best of three.
"""

from __future__ import annotations

import time

from bench_reading import CONTROL, START, straight

from millprep.reading.gcode import read_program

LINES = 1_000_000
TIMES = 3
MOST_RATIO = 5
BODY = "G1 X1.5 Y2.5\nX2.5\nY3.5 F200.\nX1.5 Z-1.5\n"


def flowing(*lines: str) -> bytes:
    """A program of these lines."""
    return "\n".join([*START, *lines, "M30", ""]).encode()


def programs() -> dict[str, bytes]:
    """Name -> program that runs a million lines, some a little fewer."""
    o_while = ["#1=0", f"o1 while [#1 lt {LINES // 4}]", "G1 X[#1*0.001] Y[#1 MOD 7]", "#1=[#1+1]"]
    o_while += ["o1 endwhile"]
    letters = ["#1=0", f"WHILE [#1 LT {LINES // 4}] DO1", "G1 X[#1*0.001] Y[#1 MOD 7]", "#1=#1+1"]
    letters += ["END1"]
    go_to = ["#1=0", "N10 G1 X[#1*0.001]", "#1=#1+1", f"IF [#1 LT {LINES // 3}] GOTO 10"]
    repeat = [f"o1 repeat [{LINES // 9}]", *(BODY * 2).splitlines(), "o1 endrepeat"]
    calls = ["o<a> sub", "G1 X#1 Y#2", "X[#1+1]", "o<a> endsub", "#1=0"]
    calls += [f"o1 while [#1 lt {LINES // 7}]", "o<a> call [#1*0.001] [2]", "#1=[#1+1]"]
    macros = ["#100=0", f"WHILE [#100 LT {LINES // 7}] DO1", "G65 P100 A[#100*0.001] B2."]
    macros += ["#100=#100+1", "END1", "M30", "O100", "G1 X#1 Y#2", "X[#1+1]", "M99"]
    subprogram = ["M98 P1 L9999", "M30", "O1", *(BODY * 25).splitlines(), "M99"]
    cycle = ["#1=0", f"o1 while [#1 lt {LINES // 4}]", "G81 X[#1*0.001] Y[#1 MOD 7] Z-2. R1. F60."]
    return {
        "straight text": straight(LINES),
        "o while, a hole each": flowing(*cycle, "#1=[#1+1]", "o1 endwhile", "G80"),
        "o while, moves by expressions": flowing(*o_while),
        "WHILE DO, moves by expressions": flowing(*letters),
        "IF GOTO, moves by expressions": flowing(*go_to),
        "o repeat, plain moves": flowing(*repeat),
        "o call, two moves each": flowing(*calls, "o1 endwhile"),
        "G65, two moves each": flowing(*macros),
        "M98 L, plain moves": flowing(*subprogram),
    }


def main() -> None:
    kept = programs()
    best = dict.fromkeys(kept, float("inf"))
    for _ in range(TIMES):
        for name, data in kept.items():
            begun = time.process_time()
            read_program(data, CONTROL, file="a.nc")
            best[name] = min(best[name], 1e6 * (time.process_time() - begun) / LINES)
    first, *_ = best.values()
    for name, figure in best.items():
        print(f"{name:<34}{figure:7.2f} us a line   {figure / first:5.1f} times straight text")
    print(f"{'the slowest, at most ' + str(MOST_RATIO):<34}{max(best.values()) / first:27.1f}")


if __name__ == "__main__":
    main()
