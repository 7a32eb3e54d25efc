import math
import re
import xml.etree.ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_findings import BEARING, DROPPED, SEAL, TIRES

from narrate.export.picture import RADIUS, findings_picture, write_picture
from narrate.records.walkaround import Component, Finding, MadeBy, Walkaround

SVG = "{http://www.w3.org/2000/svg}"
MADE_BY = MadeBy(program="narrate 0.1.0", lexicon="sha256:0", settings="sha256:0")
SYSTEMS = ("brakes", "wheels", "lighting", "electrical", "suspension", "interior", "exhaust", "fuel", "unheard of")
PLACES = ("front left", "front right", "rear left", "rear right")
MIDDLE = 500.0


def finding(name: str, system: str, *locations: str) -> Finding:
    part = Component(id=name.replace(" ", "_"), name=name, system=system, heard=name)
    return BEARING.model_copy(update={"component": part, "locations": locations})


def picture(*findings: Finding) -> ET.Element:
    return ET.fromstring(findings_picture(Walkaround(made_by=MADE_BY, findings=findings)))


def marks(svg: ET.Element) -> list[tuple[str, float, float]]:
    """Number, x and y of every disc."""
    found = []
    for group in svg.iter(f"{SVG}g"):
        if group.get("class") == "mark":
            disc, number = group
            found.append((str(number.text), float(disc.attrib["cx"]), float(disc.attrib["cy"])))
    return found


def legend(svg: ET.Element) -> list[ET.Element]:
    return next(group for group in svg.iter(f"{SVG}g") if group.get("class") == "legend").findall(f"{SVG}text")


def legend_numbers(svg: ET.Element) -> list[str]:
    return [str(text.text) for text in legend(svg) if text.get("class") == "number"]


def thirty() -> tuple[Finding, ...]:
    return tuple(
        finding(f"part {i}", SYSTEMS[i % len(SYSTEMS)], *(PLACES[: i % 3 + 1] if i % 5 else ())) for i in range(30)
    )


def test_it_is_well_formed_and_says_what_it_is(walkaround):
    svg = ET.fromstring(findings_picture(walkaround))
    assert svg.tag == f"{SVG}svg"
    assert svg.get("role") == "img"
    assert svg.findtext(f"{SVG}title") == "Where the findings are: 2014 Ford"
    assert "1 wheel bearing, front right: play (suspected); replace" in str(svg.findtext(f"{SVG}desc"))


def test_every_number_is_in_the_drawing_and_in_the_legend():
    svg = picture(*thirty())
    numbers = [str(number) for number in range(1, 31)]
    assert legend_numbers(svg) == numbers
    assert {number for number, _, _ in marks(svg)} == set(numbers)


def test_what_is_fine_or_dropped_is_left_out(walkaround):
    text = findings_picture(walkaround)
    svg = ET.fromstring(text)
    assert legend_numbers(svg) == ["1", "2"]
    assert [number for number, _, _ in marks(svg)] == ["1", "2"]
    assert "horn" not in text
    assert "tire" not in text


def test_only_fine_and_dropped_findings_leave_the_vehicle_bare():
    svg = picture(TIRES, DROPPED)
    assert marks(svg) == []
    assert [text.text for text in legend(svg)] == ["Nothing to show."]


def test_left_is_left_from_above_and_right_from_below():
    above, below = 250.0, 750.0
    svg = picture(finding("fender", "body", "front left"), finding("brake pad", "brakes", "front left"))
    (_, fender, _), (_, pad, _) = marks(svg)
    assert fender < above
    assert pad > below
    sides = {(t.text, float(t.attrib["x"])) for t in svg.iter(f"{SVG}text") if t.text in ("left", "right")}
    assert [said for said, _ in sorted(sides, key=lambda side: side[1])] == ["left", "right", "right", "left"]


def test_front_is_up():
    svg = picture(finding("brake pad", "brakes", "front left"), finding("brake pad", "brakes", "rear left"))
    (_, _, front), (_, _, rear) = marks(svg)
    assert front < rear


def test_a_pair_is_shown_at_both_places():
    svg = picture(finding("brake pad", "brakes", "front left", "front right"))
    assert [number for number, _, _ in marks(svg)] == ["1", "1"]
    (_, one, _), (_, other, _) = marks(svg)
    assert one + other == pytest.approx(2 * 750)


@pytest.mark.parametrize(
    ("name", "system", "locations", "from_below"),
    [
        ("battery", "electrical", (), False),
        ("tire", "wheels", ("front left",), False),
        ("tire", "wheels", ("front",), True),
        ("wheel bearing", "wheels", ("front left",), True),
        ("brake fluid", "brakes", (), False),
        ("muffler", "exhaust", (), True),
        ("fuel injector", "fuel", (), False),
    ],
)
def test_each_part_is_on_the_view_that_shows_it(name, system, locations, from_below):
    ((_, x, _),) = marks(picture(finding(name, system, *locations)))
    assert (x > MIDDLE) == from_below


def test_what_has_no_place_stands_in_the_strip():
    svg = picture(SEAL)
    strip = next(group for group in svg.iter(f"{SVG}g") if group.get("class") == "strip")
    assert "somewhere on the vehicle" in {text.text for text in strip.iter(f"{SVG}text")}
    assert marks(strip) == marks(svg)


def test_only_black_white_and_greys_are_used():
    colours = re.findall(r'(?:fill|stroke)="([^"]*)"', findings_picture(Walkaround(made_by=MADE_BY, findings=thirty())))
    assert colours
    for colour in colours:
        assert colour in ("black", "white", "none") or re.fullmatch(r"#([0-9a-f]{1,2})\1\1", colour)


@pytest.mark.parametrize("findings", [thirty(), tuple(finding("brake pad", "brakes", *PLACES) for _ in range(150))])
def test_marks_do_not_overlap_and_stay_above_the_legend(findings):
    svg = picture(*findings)
    found = marks(svg)
    assert {number for number, _, _ in found} == {str(number + 1) for number in range(len(findings))}
    legend_top = min(float(text.attrib["y"]) for text in legend(svg)) - 13
    for i, (_, x, y) in enumerate(found):
        assert RADIUS < x < 1000 - RADIUS
        assert RADIUS < y < legend_top - RADIUS
        assert all(math.hypot(x - u, y - v) >= 2 * RADIUS for _, u, v in found[:i])


def test_words_of_the_record_stay_words():
    text = findings_picture(Walkaround(made_by=MADE_BY, findings=(finding('<script>&"\x00\x0b', "body", "front"),)))
    assert "<script>" not in text
    assert "<script>&" in str(ET.fromstring(text).findtext(f"{SVG}desc"))


def test_a_long_legend_is_wrapped_within_the_picture():
    svg = picture(finding("w" * 500, "body", "front left"), finding("a b " * 100, "body", "rear"))
    assert len(legend(svg)) > 6
    assert all(len(text.text or "") < 200 for text in legend(svg))


def test_the_same_record_gives_the_same_picture(walkaround):
    assert findings_picture(walkaround) == findings_picture(walkaround)


def test_it_is_written_as_it_is(walkaround, tmp_path):
    write_picture(walkaround, tmp_path / "picture.svg")
    assert (tmp_path / "picture.svg").read_text("utf-8") == findings_picture(walkaround)


TOKENS = st.sampled_from(["front", "rear", "left", "right", "upper", "lower", "inner", "outer"])
LOCATION = st.lists(TOKENS, max_size=4).map(" ".join) | st.text(max_size=12)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.builds(
            lambda name, system, places: finding(name, system, *places),
            st.sampled_from(["tire", "brake pad", "headlight", "oil drain plug"]) | st.text(max_size=20),
            st.sampled_from(SYSTEMS),
            st.lists(LOCATION, max_size=5),
        ),
        max_size=8,
    )
)
def test_any_locations_give_a_picture(findings):
    svg = picture(*findings)
    assert {number for number, _, _ in marks(svg)} == set(legend_numbers(svg))
