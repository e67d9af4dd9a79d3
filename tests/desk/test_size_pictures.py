"""The pictures of the sums: what they draw is where the numbers say."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from coilward.desk.page.bars import NAMES, ROW_HIGH, TOP, effect_bars
from coilward.desk.page.plot import Axis, round_step, ticks
from coilward.desk.page.safe_maps import FILLS, heat_flow_map, heat_tank_map
from coilward.desk.size import sums
from coilward.loop.shipped import loop_names
from coilward.sizing import changing
from coilward.sizing.maps import limit_w
from tests.loop.examples import TODAY, shipped
from tests.sizing.test_sized import sized

SVG = "{http://www.w3.org/2000/svg}"


def polygons(picture):
    """Fill and corners of every filled zone, but for the legend's small ones."""
    found = []
    for each in picture.iter(f"{SVG}polygon"):
        fill = each.get("fill")
        corners = [tuple(map(float, pair.split(","))) for pair in each.get("points").split()]
        if fill in FILLS.values() and max(y for _, y in corners) < 200:
            found.append((fill, corners))
    return found


def inside(corners, x, y):
    """Whether a ray from the point crosses the outline an odd number of times."""
    crossed = False
    for (ax, ay), (bx, by) in zip(corners, corners[1:] + corners[:1], strict=True):
        if (ay > y) != (by > y) and x < (bx - ax) * (y - ay) / (by - ay) + ax:
            crossed = not crossed
    return crossed


def marks(picture):
    """Letter and middle of every point."""
    circles = [
        (float(each.get("cx")), float(each.get("cy"))) for each in picture.iter(f"{SVG}circle")
    ]
    letters = [each.text for each in picture.iter(f"{SVG}text") if each.text in list("NLSQ")]
    return list(zip(letters, circles, strict=True))


@pytest.mark.parametrize("name", loop_names())
@pytest.mark.parametrize("factor", [1.0, 1.6, 2.2])
def test_every_point_stands_on_its_zone(name, factor):
    told = sized(changing.heat(shipped(name), factor))
    for text, points in (
        (heat_flow_map(told), told.maps.flow_points),
        (heat_tank_map(told), told.maps.tank_points),
    ):
        picture = ElementTree.fromstring(text)
        drawn = marks(picture)
        assert [letter for letter, _ in drawn] == [point.mark for point in points]
        for point, (_, (x, y)) in zip(points, drawn, strict=True):
            if point.tank_c >= told.derived.coil_boil_c:
                continue  # stands at the upper edge
            fills = [fill for fill, corners in polygons(picture) if inside(corners, x, y)]
            assert fills[-1:] == [FILLS[point.zone]], point


def test_edges_between_the_zones_are_the_limits():
    """Just left and right of both edges, at half and at the whole open flow."""
    told = sized(shipped("greenhouse"))
    picture = ElementTree.fromstring(heat_flow_map(told))
    zones = polygons(picture)
    outline = next(each for each in picture.iter(f"{SVG}rect") if each.get("fill") == "none")
    left, top, wide, high = (float(outline.get(key)) for key in ("x", "y", "width", "height"))
    reach = told.maps
    for flow in (0.5 * told.derived.flow_open_lpm, told.derived.flow_open_lpm):
        y = top + high * (1 - flow / reach.most_lpm)
        for edge, before, after in (
            (told.derived.allow_c, "allowed", "too hot"),
            (told.derived.coil_boil_c, "too hot", "boils"),
        ):
            x = left + wide * limit_w(told.loop, told.derived, flow, edge) / reach.most_w
            for at, zone in ((x - 1.5, before), (x + 1.5, after)):
                assert [fill for fill, corners in zones if inside(corners, at, y)] == [FILLS[zone]]


def test_zones_are_told_apart_by_hatch_and_word():
    text = heat_flow_map(sized(shipped("greenhouse")))
    assert text.count("<pattern") == 2
    for words in ("under the allowed", "too hot: trips", "BOILS", "nominal fire"):
        assert words in text


def test_less_fire_is_the_hollow_bar_on_the_side_of_more_margin():
    found = sums("greenhouse", TODAY, "si")
    picture = ElementTree.fromstring(effect_bars(found))
    rows = {}
    for each in picture.iter(f"{SVG}rect"):
        row = round((float(each.get("y")) + 4 - TOP) / ROW_HIGH - 0.5)
        rows.setdefault(row, []).append(each)
    names = [
        each.text for each in picture.iter(f"{SVG}text")
        if each.get("text-anchor") == "end" and float(each.get("x")) < NAMES
    ]  # fmt: skip
    assert names[0] == "heat of the fire ± 20 %"
    low, high = rows[0][:2]
    assert (low.get("fill"), high.get("fill")) == ("#fff", "#12355b")
    low_x, high_x = float(low.get("x")), float(high.get("x"))
    assert low_x == pytest.approx(high_x + float(high.get("width")), abs=0.11)
    # 16.9 K as it is, 28.2 K with less fire, 5.5 K with more: lengths in that relation.
    lengths = float(low.get("width")) / float(high.get("width"))
    assert lengths == pytest.approx((28.217 - 16.859) / (16.859 - 5.501), rel=0.02)
    radiator = names.index("radiator ± 15 %")
    less, more = rows[radiator][:2]
    assert float(less.get("x")) < float(more.get("x"))


def test_scales_have_round_places():
    assert list(ticks(Axis("", "w", 0.0, 28800.0), "si", 8))[:3] == [
        (0.0, "0"), (5000.0, "5"), (10000.0, "10"),
    ]  # fmt: skip
    fahrenheit = [written for _, written in ticks(Axis("", "c", 0.0, 100.0), "us", 6)]
    assert fahrenheit == ["50", "100", "150", "200"]
    assert [round_step(span, 4) for span in (4, 5, 9, 21, 0.3)] == [1, 2, 5, 10, 0.1]
