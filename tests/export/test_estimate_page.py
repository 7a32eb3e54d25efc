"""The customer's estimate: what law and fairness want on it, nothing of a record run as markup, known by its digest."""

import base64
import hashlib
import re
from html.parser import HTMLParser
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_estimates import (
    BEARING_JOB,
    CONSENT,
    PADS_JOB,
    TOTALS,
    D,
    many,
    nothing_found,
    some_estimate,
    some_walkaround,
)

from narrate.errors import UsageError
from narrate.export.clips_inside import Photo
from narrate.export.estimate_facts import EITHER, ELSEWHERE, FIELDS
from narrate.export.estimate_page import POLICY, digest_holds, estimate_document
from narrate.records.estimate import Estimate
from narrate.records.walkaround import Walkaround
from narrate.words.place_rules import REQUIRED, load_places, place_rules

JPEG = b"\xff\xd8\xff\xe0 a photo"
VOID = {"meta", "img", "br", "col"}


class Paper(HTMLParser):
    """The page's text by its headings, and every tag; fails where tags are not closed in order."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.sections: dict[str, str] = {"": ""}
        self._section = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)
        if tag in {"br", "p", "td", "th", "h3"}:
            self.sections[self._section] += " "

    def handle_endtag(self, tag: str) -> None:
        assert tag == self.open.pop()

    def handle_data(self, data: str) -> None:
        if "style" in self.open:
            return
        if self.open and self.open[-1] == "h2":
            self._section = data
            self.sections[data] = ""
        else:
            self.sections[self._section] += data

    def said(self, section: str) -> str:
        """A section's text, blanks run together."""
        return " ".join(self.sections[section].split())


def page(estimate: Estimate | None = None, walkaround: Walkaround | None = None, **more: object) -> Paper:
    place = place_rules(str(more.pop("place", "unknown")))
    made = estimate_document(estimate or some_estimate(), walkaround or some_walkaround(), place=place, **more)
    paper = Paper(made.html)
    assert not paper.open
    return paper


def test_the_paper_comes_in_the_order_in_which_it_is_read() -> None:
    """First who, what and how much; then the work, the sums, the answer; then what needs no answer."""
    assert [
        "",
        "What you told us, and what we found",
        "Where it is",
        "Work we offer",
        "Optional, suggested with that work",
        "Still to be priced",
        "What it comes to",
        "Your answer",
        "To keep an eye on",
        "Looked at and fine",
        "Take care",
        "Please note",
    ] == list(page().sections)


def test_every_field_that_a_place_requires_has_its_own_on_the_paper() -> None:
    """No key of the places' file is unknown to the paper (standards, section 8: the superset)."""
    assert set(REQUIRED) <= {*FIELDS, *EITHER, *ELSEWHERE}


@pytest.mark.parametrize("place", sorted(load_places()))
def test_what_nobody_stated_is_named_as_not_stated(place: str) -> None:
    """Each required field without a value stands there all the same; the place's own statements are printed whole."""
    estimate, walkaround = nothing_found()
    blank = estimate.model_copy(update={"shop": {}, "customer": {}, "made_at": "", "vehicle": {}})
    paper = page(blank, walkaround, place=place)
    rules = place_rules(place)
    wanted = [(FIELDS.get(key) or EITHER[key])[1] for key in rules.required if key not in ELSEWHERE]
    for name in wanted:
        assert f"{name} not stated" in paper.said("")
    assert len(wanted) == paper.said("").count("not stated")
    for statement in rules.statements:
        assert statement in paper.said("Please note")
    assert rules.source in paper.said("Please note")
    assert ("Check local law" in paper.said("Please note")) == (place == "unknown")


def test_a_job_is_told_with_its_finding_its_ways_and_what_it_needs() -> None:
    """Plain words marked as the program's, the number against the limit with the rule, ways one under the other."""
    work = page().said("Work we offer")
    for text in (
        "1. Replace wheel bearing, front right offered",
        "(number 1 in the picture): play (suspected).",
        "There are 2 ways to do it:",
        "1) new, original maker's part (counted in the sums); the technician said $140.00",
        "new; original maker's part; number HB-201 1 each $96.40 $96.40",
        "2) rebuilt",
        "Cannot be done without job 1 (Replace wheel bearing).",
        "Measured: thickness 1 mm rear left: below the limit of 2 mm (United States), 49 CFR 570.5(a).",
        "Why it matters: The brakes slow the car and hold it still. (the program's words)",
        "If it is left: It wears on until it no longer works. (the program's words)",
        "0.4 h are done with job 1",
        "new, used or rebuilt: not stated",
        "This is a guess: heard 'will bearing'; it could also be ball joint.",
    ):
        assert text in work


def test_sums_are_told_to_the_cent_and_by_name() -> None:
    """Kinds, tax with rate and base, total, and what is not in it."""
    sums = page().said("What it comes to")
    for text in (
        "Parts $162.15 Labor $378.00 Shop supplies $18.90",
        "Sales tax, 7% of $162.15 $11.35 Total $570.40",
        "Without the optional work it would be $565.59",
        "Not in these sums: Replace weatherstrip, left.",
    ):
        assert text in sums


def test_discount_deposit_exemption_and_payers_are_told() -> None:
    """Why a discount, what is paid already, why there is no tax, and who pays which part."""
    totals = TOTALS.model_copy(
        update={"discount": D("20"), "deposit": D("100"), "tax": D(0), "taxes": (), "total": D("539.05")}
    )
    fleet = PADS_JOB.model_copy(update={"payer": "fleet", "payer_order": "F-9"})
    estimate = some_estimate(
        totals=totals,
        jobs=(BEARING_JOB, fleet),
        discount_why="loyal customer",
        tax_exempt="certificate 77",
        by_payer={"fleet": totals.model_copy(update={"total": D("223.25")})},
    )
    paper = page(estimate)
    for text in (
        "Discount (loyal customer) −$20.00",
        "No tax is due: certificate 77 $0.00",
        "Total $539.05 Deposit, paid already −$100.00 Left to pay $439.05",
        "Of the total, paid by the fleet $223.25",
    ):
        assert text in paper.said("What it comes to")
    assert "Paid by the fleet, order F-9." in paper.said("Work we offer")


def test_nothing_found_is_lost_and_nothing_dropped_is_told() -> None:
    """Every finding that nobody dropped stands somewhere; the dropped one nowhere."""
    whole = " ".join(page().sections.values())
    walkaround = some_walkaround()
    for finding in walkaround.findings:
        told = finding.component.name.lower() in whole.lower()
        assert told == (finding.review.state != "dropped"), finding.id


def test_a_fault_without_work_is_told_under_its_own_heading() -> None:
    """A finding that no job covers is not left out."""
    paper = page(some_estimate(jobs=(BEARING_JOB,), to_be_priced=()))
    found = paper.said("Found, with no work offered for it")
    assert "Brake pad" in found
    assert "Quarter glass weatherstrip" in found


def test_a_draft_says_so_and_takes_no_answer() -> None:
    """Unchecked findings are counted and marked; nothing can be ticked or signed."""
    walkaround = some_walkaround()
    first = walkaround.findings[0]
    waiting = first.model_copy(update={"review": first.review.model_copy(update={"state": "unreviewed"})})
    walkaround = walkaround.model_copy(update={"findings": (waiting, *walkaround.findings[1:])})
    paper = page(some_estimate(draft=True), walkaround)
    assert "This is a draft. 1 of 5 findings have not been checked by a person yet." in paper.said("")
    assert "No person has checked this yet." in paper.said("Work we offer")
    assert "Nothing can be answered on a draft." == paper.said("Your answer")
    assert not [attrs for _, attrs in paper.tags if attrs.get("class") == "box"]


def test_answers_stand_as_they_were_given() -> None:
    """Who, when, how, which number, the words, read back, each job, the total and the document."""
    decided = BEARING_JOB.model_copy(update={"state": "authorized", "chosen": "k2"})
    later = PADS_JOB.model_copy(update={"state": "decide_by", "decide_by_date": "2027-01-10", "added_later": True})
    paper = page(some_estimate(jobs=(decided, later), consents=(CONSENT,)))
    assert (
        "27 November 2026, 10:05 UTC: J. Doe, by telephone, number 555 0100, taken down by Ann; read back to them. "
        "Go ahead & do <both> job 1: authorized; job 2: declined. "
        "Total agreed, tax included: $570.40. Document: abab abab abab abab."
    ) in paper.said("Your answer")
    work = paper.said("Work we offer")
    assert "front right authorized" in work
    assert "2) rebuilt (counted in the sums)" in work
    assert "decide by 10 January 2027" in work
    assert "Found after the first answer: it needs an answer of its own." in work


def test_photos_and_clips_lie_inside_only_when_given() -> None:
    """A photo with its text, a clip with controls; without them no sound at all."""
    without = page()
    assert not [tag for tag, _ in without.tags if tag == "audio"]
    tags = page(photos={"f5": [Photo(JPEG, 'worn "pads"')]}, clips={"f1": b"OggS sound"}).tags
    photo = next(attrs for tag, attrs in tags if tag == "img" and attrs["class"] == "photo")
    assert ("data:image/jpeg;base64," + base64.b64encode(JPEG).decode(), 'worn "pads"') == (photo["src"], photo["alt"])
    (sound,) = [attrs for tag, attrs in tags if tag == "audio"]
    assert "data:audio/ogg;base64," + base64.b64encode(b"OggS sound").decode() == sound["src"]


@pytest.mark.parametrize(
    ("inside", "why"),
    [
        ({"photos": {"f5": [Photo(b"<svg onload=alert(1)>", "pads")]}}, "no JPEG, PNG or WebP"),
        ({"clips": {"f5": b"RIFF"}}, "no Ogg file"),
        ({"clips": {"f99": b"OggS"}}, "no finding f99"),
        ({"clips": {"f4": b"OggS"}}, "no finding f4"),
    ],
)
def test_what_is_no_photo_or_clip_of_a_finding_is_refused(inside: dict[str, object], why: str) -> None:
    """Bytes say what a file is; a dropped finding has none."""
    with pytest.raises(UsageError, match=why):
        page(**inside)


def test_the_page_needs_nothing_beside_it_and_runs_nothing() -> None:
    """No script, no address outside, no style but its own, which the policy names by digest."""
    made = estimate_document(some_estimate(), some_walkaround(), place=place_rules("unknown"))
    paper = Paper(made.html)
    assert not {"script", "link", "iframe", "object", "form"} & {tag for tag, _ in paper.tags}
    addresses = [value for _, attrs in paper.tags for name, value in attrs.items() if name in ("src", "href")]
    assert addresses
    assert all(str(address).startswith("data:") for address in addresses)
    assert not [name for _, attrs in paper.tags for name in attrs if name == "style" or name.startswith("on")]
    style = re.search("<style>(.*?)</style>", made.html, re.DOTALL)
    assert style is not None
    digest = base64.b64encode(hashlib.sha256(style.group(1).encode()).digest()).decode()
    assert f"style-src 'sha256-{digest}'" in POLICY
    assert "url(" not in style.group(1)


def test_the_picture_is_drawn_and_told() -> None:
    """The drawing is whole XML, and its words stand beside it for who cannot see it."""
    tags = page().tags
    picture = next(attrs for tag, attrs in tags if tag == "img" and attrs["class"] == "whole")
    source = str(picture["src"]).removeprefix("data:image/svg+xml;base64,")
    assert ElementTree.fromstring(base64.b64decode(source)).tag.endswith("svg")
    assert "1 wheel bearing, front right: play (suspected)" in str(picture["alt"])
    assert not [tag for tag, _ in page(*nothing_found()).tags if tag == "img"]


def test_a_document_is_known_by_its_digest() -> None:
    """The same record gives the same digest; a changed page no longer fits its own."""
    first, second = (
        estimate_document(some_estimate(), some_walkaround(), place=place_rules("us-fl"), chain_head="cd" * 32)
        for _ in range(2)
    )
    assert first == second
    assert digest_holds(first.html)
    assert not digest_holds(first.html.replace("$570.40", "$57.40"))
    assert not digest_holds(first.html.replace(first.sha256, "0" * 64))
    assert "the store's chain ends with cdcd cdcd cdcd cdcd" in first.html
    other = estimate_document(some_estimate(expires_on=None), some_walkaround(), place=place_rules("us-fl"))
    assert other.sha256 != first.sha256


@given(text=st.text(max_size=60))
def test_no_text_of_a_record_becomes_markup(text: str) -> None:
    """Whatever anyone typed stays text: the tags are those of the page without it, and the digest holds."""
    title = f'<b onclick=\'x\'>{text}</b><data class="document" value=""></data>'
    shop = {"name": title}
    job = BEARING_JOB.model_copy(update={"title": title})
    made = estimate_document(some_estimate(jobs=(job,), shop=shop), some_walkaround(), place=place_rules("us"))
    paper = Paper(made.html)
    assert not paper.open
    assert "b" not in {tag for tag, _ in paper.tags}
    assert digest_holds(made.html)


def test_many_jobs_and_ways_are_all_there() -> None:
    """Thirty jobs of four ways each, none left out."""
    paper = page(*many(30))
    work = paper.said("Work we offer")
    assert 30 == work.count("There are 4 ways to do it")
    assert "30. Replace lower control arm" in work
    assert "30 jobs priced here. Total, tax included: $81,382.50." in paper.said("")
