"""The opposite hand: twice gives the part back, and the setups turn with it."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from millprep.base.records import as_dict, replace
from millprep.infiles import mirrored, read_part
from millprep.model.part import FACE_AXIS, FACES, ObstacleRequest, SetupRequest
from millprep.setting.setups import setup_of

CASES = Path(__file__).parent / "parts" / "valid"
PARTS = [read_part(path)[0] for path in sorted(CASES.glob("*.toml"))]


def nearly_equal(one, other):
    if hasattr(one, "__compared__") and type(one) is type(other):
        values = zip(as_dict(one).values(), as_dict(other).values(), strict=True)
        return all(nearly_equal(*both) for both in values)
    if isinstance(one, tuple):
        return len(one) == len(other) and all(map(nearly_equal, one, other))
    if isinstance(one, float):
        return one == pytest.approx(other, abs=1e-9)
    return one == other


@st.composite
def requests(draw):
    """A setup with an obstacle, parallels and perhaps a lay of its own."""
    face = draw(st.sampled_from(FACES))
    upright = [each for each in FACES if FACE_AXIS[each] != FACE_AXIS[face]]
    figures = st.floats(-50, 50)
    low = tuple(draw(figures) for _ in range(3))
    return SetupRequest(
        face=face,
        towards_you=draw(st.none() | st.sampled_from(upright)),
        parallel_thickness_mm=4.0,
        parallels_at_mm=(draw(figures),),
        obstacles=(ObstacleRequest("clamp", low, tuple(each + 5 for each in low)),),
    )


@given(st.sampled_from(PARTS), st.sampled_from("xyz"), st.lists(requests(), max_size=3))
def test_twice_is_the_same(part, axis, setups):
    part = replace(part, setups=tuple(setups))
    turned = mirrored(part, axis)
    assert turned.is_opposite_hand != part.is_opposite_hand
    assert nearly_equal(mirrored(turned, axis), part)


@given(requests(), st.sampled_from("xyz"))
def test_an_obstacle_stays_with_the_hole_it_stands_over(request, axis):
    """Stands an obstacle and a parallel over a hole of every face; the glass keeps them there."""
    part = replace(PARTS[1], setups=())
    setup = setup_of(part, request, 1)
    place = setup.from_part(np.array([part.holes[0].centre_mm]).T)[:, 0]
    request = replace(
        request,
        obstacles=(ObstacleRequest("clamp", tuple(place), tuple(np.add(place, [1, 2, 3]))),),
        parallels_at_mm=(place[1] - 2,),  # 4 wide: its middle is under the hole
    )
    turned = mirrored(replace(part, setups=(request,)), axis)
    after = turned.setups[0]
    new_place = setup_of(turned, after, 1).from_part(np.array([turned.holes[0].centre_mm]).T)[:, 0]
    obstacle = after.obstacles[0]
    nearest_corner = np.minimum(
        np.abs(obstacle.low_mm - new_place), np.abs(obstacle.high_mm - new_place)
    )
    assert_allclose(nearest_corner, 0, atol=1e-9)
    assert after.parallels_at_mm[0] + 2 == pytest.approx(new_place[1], abs=1e-9)


def test_threads_keep_their_hand_and_holes_their_names():
    for part in PARTS:
        turned = mirrored(part, "y")
        assert [hole.name for hole in turned.holes] == [hole.name for hole in part.holes]
        assert [hole.thread for hole in turned.holes] == [hole.thread for hole in part.holes]


def test_an_opposite_hand_of_an_opposite_hand_is_refused(tmp_path):
    from millprep.base.findings import MillprepError

    (tmp_path / "a.toml").write_text('opposite_hand_of = "a.toml"\n')
    with pytest.raises(MillprepError) as caught:
        read_part(tmp_path / "a.toml")
    (finding,) = caught.value.findings
    assert finding.message == '"a.toml" is itself the opposite hand of another'
    assert finding.remedy == "name the original"
