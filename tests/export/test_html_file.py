"""The customer's page: plain words, everything escaped, guesses shown as guesses."""

import re
from html.parser import HTMLParser

from hypothesis import given
from hypothesis import strategies as st

from narrate.export.html_file import findings_page
from narrate.records.walkaround import Walkaround


class Outline(HTMLParser):
    """Tags in order, those left open, and the text of each section by its heading."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.sections: dict[str, str] = {}
        self._section = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag != "meta":
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if self.open and self.open[-1] == tag:
            self.open.pop()

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] == "h2":
            self._section = data
            self.sections[data] = ""
        elif self._section:
            self.sections[self._section] += data


def test_sections_come_in_order(walkaround: Walkaround) -> None:
    """The picture and what the customer said come first, empty sections are left out."""
    assert [
        "Where it is",
        "What the customer told us",
        "What needs attention",
        "To keep an eye on",
        "Looked at and fine",
        "Heard but not understood",
        "Said two ways",
        "Not mentioned",
        "Suggested by the program, not said",
        "Measurements",
        "Take care",
        "Please note",
    ] == list(Outline(findings_page(walkaround)).sections)


def test_a_finding_is_told_with_its_words(walkaround: Walkaround) -> None:
    """What, where, what to do, how soon, the number, the price, the guess and the words with their time."""
    told = Outline(findings_page(walkaround)).sections["What needs attention"]
    assert (
        "Wheel bearing, front right\n"
        "We found: play (suspected).\n"
        "We recommend: replace, otherwise adjust.\n"
        "How soon: before it is driven again: the wheel may come off.\n"
        "Measured: play about 0.4 mm front right, above the limit of 0.1 mm (maker).\n"
        "Part: new, another maker's part.\n"
        "Price said: $140.00 (rebuilt).\n"
        "This is a guess: heard 'will bearing'; it could also be ball joint.\n"
        "The technician said at 1:09: the will bearing has play … =that bearing again"
    ) == told.strip()


def test_a_caution_is_printed_once(walkaround: Walkaround) -> None:
    """Two findings that carry the same caution do not say it twice."""
    assert 1 == findings_page(walkaround).count("never get under a vehicle")


def test_dropped_findings_are_not_told(walkaround: Walkaround) -> None:
    """What a person dropped is not for the customer."""
    assert "Horn" not in findings_page(walkaround)


def test_unchecked_work_is_told_as_such(walkaround: Walkaround) -> None:
    """The page says how many findings no person has looked at."""
    assert "2 of 3 findings have not been checked by a person yet." in findings_page(walkaround)


def test_the_page_is_accessible_and_fetches_nothing(walkaround: Walkaround) -> None:
    """Language, a title of page and drawing, scoped table heads, no script, no link, no image, all tags closed."""
    outline = Outline(findings_page(walkaround))
    tags = [tag for tag, _ in outline.tags]
    assert ("html", {"lang": "en-US"}) in outline.tags
    assert (2, 1, 1) == (tags.count("title"), tags.count("h1"), tags.count("caption"))
    assert {"col", "row"} == {attributes.get("scope") for tag, attributes in outline.tags if tag == "th"}
    assert not {"script", "link", "img", "a"} & set(tags)
    assert [] == outline.open


def test_the_page_is_black_on_white(walkaround: Walkaround) -> None:
    """No other colour carries meaning."""
    assert {"#fff", "#000"} == set(re.findall(r"#[0-9a-fA-F]{3,6}\b", findings_page(walkaround).split("</style>")[0]))


def test_an_empty_walkaround_says_so(nothing: Walkaround) -> None:
    """A page with nothing on it would look like a mistake."""
    assert "name nothing" in Outline(findings_page(nothing)).sections["What needs attention"]


@given(text=st.text(st.sampled_from("<>&\"'$/{}ab script"), min_size=1))
def test_nothing_said_becomes_markup(text: str, walkaround: Walkaround) -> None:
    """Whatever stands in a record, the page has the same tags and shows the text as it is."""
    finding = walkaround.findings[0].model_copy(update={"reason": text, "position": text, "codes": (text,)})
    changed = walkaround.model_copy(update={"findings": (finding, *walkaround.findings[1:])})
    plain = finding.model_copy(update={"reason": "x", "position": "x", "codes": ("x",)})
    other = walkaround.model_copy(update={"findings": (plain, *walkaround.findings[1:])})
    outline = Outline(findings_page(changed))
    assert Outline(findings_page(other)).tags == outline.tags
    assert f"Why: {text}." in outline.sections["What needs attention"]
