from xml.etree import ElementTree

import pytest

from takeoff.drawing.canvas import Sketch
from takeoff.drawing.svg import MOST_ELEMENTS, escape, svg_text
from takeoff.errors import BadValue

HOSTILE = "<img src=x onerror='alert(1)'> & \"quoted\" \x00\x1b ]]> <!-- "


def test_text_comes_back_from_the_parser_as_it_was_without_control_characters():
    sketch = Sketch("t")
    sketch.text(0, 0, HOSTILE, "name", size=310)
    root = ElementTree.fromstring(svg_text(sketch.canvas(100, 100, title=HOSTILE, says=HOSTILE)))
    texts = [element.text for element in root.iter("{http://www.w3.org/2000/svg}text")]
    assert texts == ["<img src=x onerror='alert(1)'> & \"quoted\" ]]> <!--"]
    assert not list(root.iter("{http://www.w3.org/2000/svg}img"))


def test_escape_leaves_nothing_that_markup_reads():
    assert not set(escape(HOSTILE)) & set("<>\"'")


def test_drawing_is_an_image_with_a_title_and_a_description():
    svg = svg_text(Sketch("one").canvas(1234, 500, title="Door wall", says="Two boards"))
    root = ElementTree.fromstring(svg)
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == "one-title one-desc"
    assert root.get("width") == "12.34mm"
    assert [child.get("id") for child in root] == ["one-title", "one-desc"]


def test_hatches_carry_the_drawings_own_prefix():
    sketch = Sketch("left")
    sketch.rectangle(0, 0, 10, 10, "rest", hatch="unboarded")
    svg = svg_text(sketch.canvas(10, 10, title="t", says="s"))
    assert 'id="left-unboarded"' in svg
    assert 'fill="url(#left-unboarded)"' in svg


@pytest.mark.parametrize("prefix", ["", "1a", 'a"b', "a b", "a<b"])
def test_a_prefix_that_is_no_id_is_refused(prefix):
    with pytest.raises(BadValue, match="prefix"):
        Sketch(prefix)


def test_more_parts_than_a_page_takes_are_refused():
    sketch = Sketch("t")
    for k in range(MOST_ELEMENTS):
        sketch.circle(k, k, 1, "screw")
    with pytest.raises(BadValue, match="more than a page takes"):
        svg_text(sketch.canvas(10, 10, title="t", says="s"))
