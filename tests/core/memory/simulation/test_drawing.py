"""The drawing is well-formed, says in words what it shows, and tells its lines apart without colour."""

from __future__ import annotations

from xml.etree import ElementTree

from training.core.memory.simulation.drawing import Panel, drawn

SVG = "{http://www.w3.org/2000/svg}"


def test_it_has_a_title_a_text_alternative_and_a_dash_of_its_own_for_each_line():
    lines = {"ours": [0.0, 0.5, 1.0], "others <4>": [0.0, float("nan"), 0.25]}
    root = ElementTree.fromstring(drawn([Panel(title="Days & weeks", lines=lines)] * 2, "Shares", "ours 50 %"))
    assert root.findtext(f"{SVG}title") == "Shares"
    assert root.findtext(f"{SVG}desc") == "ours 50 %"
    dashes = [line.get("stroke-dasharray") for line in root.iter(f"{SVG}polyline")]
    assert len(dashes) == 4
    assert dashes[0] != dashes[1]
    texts = [text.text for text in root.iter(f"{SVG}text")]
    assert texts.count("others <4>") == 2


def test_a_share_of_one_stands_above_a_share_of_none_and_weeks_run_to_the_right():
    root = ElementTree.fromstring(drawn([Panel(title="", lines={"a": [0.0, 1.0]})], "", ""))
    line = next(root.iter(f"{SVG}polyline")).get("points")
    (x0, y0), (x1, y1) = [tuple(map(float, point.split(","))) for point in line.split()]
    assert x1 > x0
    assert y1 < y0
