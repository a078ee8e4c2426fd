"""A tank's shape → the outline that is drawn of it, worked out by hand."""

import pytest

from gateway.page.tank_pictures import FloatMark, Outline, draw_outline, outline_of, place_labels
from gateway.settings.water_tables import Box, Litres, LyingCylinder, Tapered


@pytest.mark.parametrize(
    ("outline", "left", "right", "top", "path", "behind"),
    [
        # 108 high and as wide; the field's middle is 92, its foot 122
        (Outline(kind="box", ratio=1.0), 38, 146, 14, "M38.0 14.0V122.0H146.0V14.0Z", ""),
        # twice as wide as high: 130 wide, 65 high
        (Outline(kind="box", ratio=2.0), 27, 157, 57, "M27.0 57.0V122.0H157.0V57.0Z", ""),
        # ten times: not lower than 34; a tenth: not narrower
        (Outline(kind="box", ratio=10.0), 27, 157, 88, "M27.0 88.0V122.0H157.0V88.0Z", ""),
        (Outline(kind="box", ratio=0.1), 75, 109, 14, "M75.0 14.0V122.0H109.0V14.0Z", ""),
        # its edges bow by 7 at the most, else by an eighth of its width
        (
            Outline(kind="upright-cylinder", ratio=0.4), 70.4, 113.6, 14,
            "M70.4 14.0V116.6A21.6 5.4 0 0 0 113.6 116.6V14.0A21.6 5.4 0 0 0 70.4 14.0Z", "M70.4 14.0A21.6 5.4 0 0 0 113.6 14.0",
        ),
        (
            Outline(kind="upright-cylinder", ratio=1.2), 27.2, 156.8, 14,
            "M27.2 14.0V115.0A64.8 7.0 0 0 0 156.8 115.0V14.0A64.8 7.0 0 0 0 27.2 14.0Z", "M27.2 14.0A64.8 7.0 0 0 0 156.8 14.0",
        ),
        # its far end stands aside by 0.22 of 108
        (
            Outline(kind="lying-cylinder"), 30, 138, 14,
            "M30.0 68.0a54.0 54.0 0 1 0 108.0 0a54.0 54.0 0 1 0 -108.0 0Z", "M84.0 14.0h23.8a54.0 54.0 0 0 1 0 108.0h-23.8",
        ),
        # half as wide at its foot
        (
            Outline(kind="tapered", ratio=1.0, sides=((0.0, 0.5), (1.0, 1.0))), 38, 146, 14,
            "M119.0 122.0L146.0 14.0L38.0 14.0L65.0 122.0Z", "",
        ),
    ],
)  # fmt: skip
def test_each_vessel_has_its_outline(outline, left, right, top, path, behind):
    """Foot and middle are where they are for all; its edges bound what is drawn in it."""
    drawn = draw_outline(outline)
    assert (round(drawn.left, 1), round(drawn.right, 1), round(drawn.top, 1)) == (left, right, top)
    assert (drawn.path, drawn.behind) == (path, behind)
    assert drawn.y(0) == 122.0 and drawn.y(1) == pytest.approx(top, abs=0.06)


@pytest.mark.parametrize(
    ("shape", "ratio"),
    [
        (Box(kind="box", length_m=1.5, width_m=3.0, height_m=1.2), 2.5),
        (LyingCylinder(kind="lying-cylinder", diameter_m=1.6, length_m=2.4), 1.0),
        (Tapered(kind="tapered", bottom_diameter_m=2.0, top_diameter_m=1.0, height_m=4.0), 0.5),
        # 785.4 litres of one metre: a round tank of one metre
        (Litres(kind="litres", litres=785.398, height_m=1.0), 1.0),
        (Litres(kind="litres", litres=1570.796, height_m=2.0), 0.5),
    ],
)
def test_width_over_height(shape, ratio):
    """The longer side of a box, the wider end of a tapered one, a round tank where only the litres are known."""
    assert outline_of(shape).ratio == pytest.approx(ratio, abs=0.001)


def test_labels_stand_at_their_floats_where_there_is_room():
    """From the top down; the second of two at one level 15 below the first."""
    floats = tuple(FloatMark(means="low", level=level, text="", state="") for level in (0.25, 0.75, 0.75))
    placed = place_labels(floats, draw_outline(Outline(kind="box", ratio=1.0)))
    assert [(y, label_y) for _, y, label_y in placed] == [(41.0, 41.0), (41.0, 56.0), (95.0, 95.0)]
