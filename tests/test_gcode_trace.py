"""The listener that only prints: each act in the order in which it is carried out."""

import json

from millprep.model.shop import Control
from millprep.reading.gcode import Event, JsonTrace, read_program

CONTROL = Control(offsets_mm={"G54": (0.0, 0.0, 0.0)})


def events(text: str) -> list[Event]:
    found: list[Event] = []
    read_program(text.encode(), CONTROL, file="a.nc", trace=found.append)
    return found


def test_acts_come_in_the_order_of_execution() -> None:
    """NISTIR 6556, table 8: feed, speed, spindle, plane, units, distance, motion, stop."""
    (*_,) = found = events("M2 G1 X1. G90 G21 G17 G54 M3 S500 F60.")
    assert [(event.code, event.verb) for event in found] == [
        ("F", "set_feed"),
        ("S", "set_speed"),
        ("M3", "turn_spindle"),
        ("G17", "set_plane"),
        ("G21", "set_units"),
        ("G54", "set_work_system"),
        ("G90", "set_distance"),
        ("G1", "feed"),
        ("M2", "end_program"),
    ]
    assert found[0].words == {"X": 1.0, "S": 500.0, "F": 60.0}
    assert found[-1].modes["place_mm"] == [1.0, 0.0, 0.0]


def test_each_event_is_a_line_of_json() -> None:
    lines: list[str] = []
    text = "G21 G90 G17 G54 (é)\nG0 X1.\n" + "X2. Y1.\n" * 3 + "M30\n"
    read_program(text.encode(), CONTROL, file="a.nc", trace=JsonTrace(lines.append))
    told = [json.loads(line) for line in lines]
    assert all("\n" not in line for line in lines)
    assert [(one["line"], one["code"]) for one in told][4:] == [
        (2, "G0"),
        (3, "G0"),
        (4, "G0"),
        (5, "G0"),
        (6, "M30"),
    ]
    assert told[5]["text"] == "X2. Y1."
    assert told[5]["words"] == {"X": 2.0, "Y": 1.0}
    assert told[5]["modes"]["units"] == "mm"
    assert told[5]["modes"]["motion"] == "G0"


def test_a_listener_changes_nothing() -> None:
    text = b"G21 G90 G17 G54\n/G0 X1.\nG81 X1. Z-1. R1. F50.\nX2.\n/M0\nM2\n"
    told: list[Event] = []
    listened = read_program(text, CONTROL, file="a.nc", trace=told.append)
    plain = read_program(text, CONTROL, file="a.nc")
    assert listened.findings == plain.findings
    assert listened.moves.end.tolist() == plain.moves.end.tolist()
    assert [event.line for event in told] == sorted(event.line for event in told)
