"""The page on which a phone records: what the technician sees and touches."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import axe_playwright_python
import pytest
from browser_shop import Shop, order
from capture_phone import PHONE, Phone, told
from playwright.sync_api import Page, WebSocketRoute, expect

from narrate.store.capture_marks import marks_of, photos_of
from narrate.store.people import add_person

AXE = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text("utf-8")
WIDER = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
TOO_SMALL = """() => [...document.querySelectorAll("button, .button, summary, select, input:not([type=checkbox])")]
  .filter((each) => each.checkVisibility() && each.getBoundingClientRect().height < 43.9)
  .map((each) => each.outerHTML.slice(0, 120))"""
SILENT = """navigator.mediaDevices.getUserMedia = async () => {
  const context = new AudioContext();
  const to = context.createMediaStreamDestination();
  const source = new ConstantSourceNode(context, { offset: 0 });
  source.connect(to);
  source.start();
  return to.stream;
};"""
PHOTO = Path(__file__).parents[2] / "docs" / "review" / "finding.png"
LINE = "left front, brake pads, three millimeters"


class Helper:
    """The live helper's part, played by the test."""

    def __init__(self) -> None:
        self.heard: list[dict[str, Any]] = []
        self.socket: WebSocketRoute | None = None

    def __call__(self, socket: WebSocketRoute) -> None:
        self.socket = socket
        socket.on_message(self._took)

    def _took(self, message: Any) -> None:
        self.heard.append(told(message))
        if self.heard[-1]["type"] == "begin":
            self.say(type="ready")

    def say(self, **message: Any) -> None:
        assert self.socket is not None
        self.socket.send(json.dumps(message))

    def asked(self, type_: str) -> list[dict[str, Any]]:
        return [each for each in self.heard if each["type"] == type_]


@pytest.fixture
def phone(phones: Callable[..., Phone]) -> Phone:
    return phones()


@pytest.fixture
def helper() -> Helper:
    return Helper()


@pytest.fixture
def talking(phones: Callable[..., Phone], helper: Helper) -> Phone:
    """A phone that records and has live words."""
    phone = phones(live=helper).open().start()
    phone.until(lambda: len(helper.asked("sound")) > 2)
    return phone


def sound_faults(page: Page) -> list[str]:
    page.evaluate(AXE)
    found = page.evaluate("axe.run({resultTypes: ['violations']})")
    return [f"{each['id']}: {node['html'][:160]}" for each in found["violations"] for node in each["nodes"]]


def test_one_touch_starts_and_nothing_starts_by_itself(phone: Phone):
    phone.open()
    phone.is_in("Ready")
    phone.page.wait_for_timeout(500)
    assert phone.rows("runs") == []
    phone.start()
    assert "●" in phone.page.title()
    phone.until_safe(2)
    expect(phone.page.locator(".top")).to_be_hidden()


def test_every_state_reads_well(phones: Callable[..., Phone], helper: Helper):
    phone = phones(live=helper, checked=False, bypass_csp=True).open()

    def looked_at() -> None:
        for scheme in ("light", "dark"):
            phone.page.emulate_media(color_scheme=scheme)
            assert sound_faults(phone.page) == []
        assert phone.page.evaluate(WIDER) == 0
        assert phone.page.evaluate(TOO_SMALL) == []

    phone.is_in("Ready")
    for each in ("#settings", "#another", "#sayings"):
        phone.page.locator(f"{each} summary").click()
    looked_at()
    phone.touch("Start without that")
    phone.is_in("Recording")
    helper.say(type="findings", findings=[finding("f1"), finding("f2", taken_back=True)], concerns_open=[])
    helper.say(type="question", finding="f1", text="Left or right?", answers=["left", "right"])
    phone.touch("Mark this")
    phone.touch("Next vehicle")
    expect(phone.page.locator("#question")).to_be_visible()
    looked_at()
    phone.touch("Pause")
    phone.is_in("Paused")
    looked_at()
    phone.touch("Done: make the list")
    phone.is_in("Ending")
    looked_at()


def finding(id_: str, *, taken_back: bool = False) -> dict[str, Any]:
    return {"id": id_, "line": LINE, "status": "fault", "start_s": 1.0, "end_s": 2.5, "taken_back": taken_back}


def test_the_order_is_chosen_by_a_few_letters(phone: Phone, shop: Shop):
    visit = shop.add_order(order("C-77", plate="3KLM456"))
    phone.open()
    phone.touch("Choose the order")
    phone.page.get_by_label("Plate, number or vehicle").fill("klm")
    phone.page.locator("#order-found button").first.click()
    expect(phone.page.locator("#order-chosen")).to_contain_text("3KLM456")
    phone.start().until_safe(1)
    assert phone.capture().visit_id == visit
    expect(phone.page.locator("#about")).to_contain_text("3KLM456")
    phone.touch("Done")
    phone.is_in("All safe")
    phone.touch("Next recording")
    expect(phone.page.locator("#order-chosen")).to_have_text("No order chosen")


def test_the_address_chooses_the_order(phone: Phone, shop: Shop):
    visit = shop.add_order(order("C-78", plate="4XYZ111"))
    phone.open(f"/capture?visit={visit}")
    expect(phone.page.locator("#order-chosen")).to_contain_text("4XYZ111")


def test_the_end_can_be_taken_back(phone: Phone):
    phone.open().start().until_safe(1)
    phone.touch("Done")
    phone.touch("Go on after all")
    phone.is_in("Recording")
    phone.page.wait_for_timeout(6000)
    assert phone.capture().job_id is None
    assert [run.run for run in phone.capture().runs] == [0, 1]
    phone.touch("Done")
    phone.is_in("All safe")


def test_silence_pauses_after_a_warning(phone: Phone):
    phone.context.add_init_script(SILENT)
    phone.open()
    settings = '{"checked": true, "silence": "0.1"}'
    phone.page.evaluate(f"localStorage.setItem('narrate-capture-settings', '{settings}')")
    phone.page.reload()
    phone.start()
    expect(phone.page.locator("#told")).to_contain_text("Nobody has spoken")
    phone.is_in("Paused")
    expect(phone.page.locator("#sentence")).to_contain_text("Nobody spoke for a while")


def test_what_is_touched_is_kept_and_can_be_undone(phone: Phone, shop: Shop):
    phone.open().start().until_safe(1)
    phone.touch("Mark this")
    phone.touch("Take back")
    phone.page.get_by_role("button", name="Undo: Taken back").click()
    phone.until(lambda: [mark.undone for _, mark in marks(phone)] == [False, True])
    assert [mark.what for _, mark in marks(phone)] == ["mark", "take_back"]
    assert all(run == 0 and 0 < mark.at_s < 30 for run, mark in marks(phone))


def marks(phone: Phone) -> list[Any]:
    return sorted(marks_of(phone.shop.store, phone.key), key=lambda each: each[1].at_s)


def test_a_photo_is_kept_with_its_moment(phone: Phone, shop: Shop):
    phone.open().start().until_safe(1)
    with phone.page.expect_file_chooser() as chooser:
        phone.touch("Photo")
    chooser.value.set_files(PHOTO)
    phone.until(lambda: photos_of(shop.store, phone.key))
    [photo] = photos_of(shop.store, phone.key)
    assert photo.run == 0
    assert photo.at_s > 0
    phone.until(lambda: all(row["sent"] for row in phone.rows("photos")))


def test_a_spoken_command_takes_a_photo_where_the_camera_is_on(
    phones: Callable[..., Phone], shop: Shop, helper: Helper
):
    phone = phones(live=helper).open()
    phone.page.locator("#settings summary").click()
    phone.page.get_by_label("Photos by voice").check()
    phone.start()
    expect(phone.page.locator("#camera")).to_be_visible()
    phone.until(lambda: helper.asked("sound"))
    phone.page.wait_for_function("document.getElementById('camera').videoWidth > 0")
    helper.say(type="command", id="m1", run=0, command="photograph", said="australia take a picture", at_s=1.0)
    phone.until(lambda: photos_of(shop.store, phone.key))
    assert [mark.what for _, mark in marks(phone)] == ["photograph"]


def test_live_words_and_findings_are_provisional(talking: Phone, helper: Helper):
    [begun] = helper.asked("begin")
    assert (begun["run"], begun["read_back"]) == (0, "asked")
    assert {each["bytes"] for each in helper.asked("sound")} == {3200}
    helper.say(type="words", phrase=1, start_s=0, end_s=2, text="left front brake pads", final=False)
    page = talking.page
    expect(page.locator("#words")).to_have_text("left front brake pads")
    helper.say(type="findings", findings=[finding("f1")], concerns_open=[])
    expect(page.get_by_role("heading", name="So far, not the final list")).to_be_visible()
    expect(page.locator("#findings .lit")).to_contain_text(LINE)
    helper.say(type="findings", findings=[finding("f1", taken_back=True)], concerns_open=[])
    expect(page.locator("#findings .undone")).to_contain_text("taken back")


def test_a_question_is_answered_by_touch(talking: Phone, helper: Helper):
    helper.say(type="question", finding="f1", text="Left or right?", answers=["left", "right"])
    talking.touch("left")
    talking.until(lambda: helper.asked("answer"))
    assert helper.asked("answer") == [{"type": "answer", "value": "left"}]
    mark = {"id": "a1", "run": 0, "at_s": 2.0, "about_start_s": 1.0, "about_end_s": 1.5, "field": "location"}
    helper.say(type="answered", text=LINE, mark={**mark, "value": "left", "what": "answer"})
    expect(talking.page.locator("#question")).to_be_hidden()
    talking.until(lambda: marks(talking))
    [(_, kept)] = marks(talking)
    assert (kept.what, kept.field, kept.value, kept.about_start_s) == ("answer", "location", "left", 1.0)


def test_a_touched_command_is_told_to_the_helper_and_is_one_mark(talking: Phone, helper: Helper):
    helper.say(type="findings", findings=[finding("f1")], concerns_open=[])
    expect(talking.page.locator("#findings")).to_contain_text(LINE)
    talking.touch("Take back")
    talking.until(lambda: helper.asked("command"))
    [asked] = helper.asked("command")
    helper.say(type="command", command="take_back", id=asked["id"], run=0, said="", at_s=9.0, about=LINE)
    talking.page.get_by_role("button", name=f"Undo: Taken back: {LINE}").click()
    talking.until(lambda: helper.asked("undo"))
    assert helper.asked("undo") == [{"type": "undo", "mark": asked["id"]}]
    talking.until(lambda: [mark.undone for _, mark in marks(talking)] == [True])
    [(_, mark)] = marks(talking)
    assert (mark.about_start_s, mark.about_end_s) == (1.0, 2.5)
    assert mark.at_s != 9.0


def test_done_can_be_spoken(talking: Phone, helper: Helper):
    helper.say(type="command", command="done", id="d1", run=0, said="australia all done", at_s=1.0)
    talking.is_in("Ending")
    talking.touch("Go on after all")
    talking.is_in("Recording")
    talking.until(lambda: [mark.undone for _, mark in marks(talking)] == [True])
    helper.say(type="command", command="done", id="d2", run=1, said="australia all done", at_s=1.0)
    talking.is_in("All safe")


def test_the_phone_does_not_hear_itself(talking: Phone, helper: Helper):
    talking.page.evaluate("speechSynthesis.speak = (said) => { window.saying = said; }")
    talking.until(lambda: not all(each["silent"] for each in helper.asked("sound")))
    helper.say(type="say", text=LINE, why="read_back")
    talking.page.wait_for_function("window.saying?.text")
    assert talking.page.evaluate("window.saying.text") == LINE
    helper.heard.clear()
    talking.until(lambda: len(helper.asked("sound")) > 6)
    assert all(each["silent"] for each in helper.asked("sound")[2:])
    talking.page.evaluate("window.saying.onend()")
    talking.until(lambda: not helper.asked("sound")[-1]["silent"])


def test_recording_goes_on_without_live_words(phone: Phone):
    phone.open().start().until_safe(2)
    expect(phone.page.locator("#live-state")).to_contain_text("Everything is recorded")


def test_where_there_is_no_microphone_a_file_can_be_sent(visits, shop: Shop):
    page = visits.page(**PHONE)
    page.add_init_script("Object.defineProperty(navigator, 'mediaDevices', { value: undefined });")
    page.goto(f"{shop.url}/capture")
    expect(page.locator("#state")).to_have_text("Cannot record here")
    expect(page.locator("#sentence")).to_contain_text("below you can send")
    expect(page.get_by_label("Record now")).to_be_visible()
    expect(page.locator("#big")).to_be_hidden()


def test_a_refused_microphone_is_one_sentence(phone: Phone):
    phone.context.add_init_script(
        "navigator.mediaDevices.getUserMedia = async () => { throw new DOMException('', 'NotAllowedError'); };"
    )
    phone.open()
    phone.touch("Start")
    expect(phone.page.locator("#sentence")).to_contain_text("allow it in the browser’s settings")
    phone.is_in("Ready")
    assert phone.rows("captures") == []


def test_only_one_tab_records(phone: Phone):
    phone.open().start()
    other = phone.context.new_page()
    other.goto(f"{phone.shop.url}/capture")
    expect(other.locator("#state")).to_have_text("Open elsewhere")
    phone.page.close()
    expect(other.locator("#state")).to_have_text("Paused")
    expect(other.get_by_role("button", name="Go on", exact=True)).to_be_visible()


def test_signed_out_it_records_on_and_asks_to_sign_in(visits, phones: Callable[..., Phone], tmp_path: Path):
    shop = Shop(tmp_path / "data", "--no-worker")
    add_person(shop.store, name="Robin", role="owner", who="Test", pin="482913")
    shop.start()
    visits.expect("401")
    try:
        phone = phones(shop=shop)
        phone.page.goto(f"{shop.url}/capture")
        phone.page.get_by_label("Your PIN").fill("482913")
        phone.page.keyboard.press("Enter")
        phone.is_in("Ready")
        phone.start().until_safe(1)
        phone.context.clear_cookies()
        expect(phone.page.locator("#waiting")).to_contain_text("Sign in, so that it can be sent")
        phone.is_in("Recording")
        assert phone.rows("pieces")
        phone.touch("Pause")
        phone.page.get_by_role("link", name="Sign in").click()
        phone.page.get_by_label("Your PIN").fill("482913")
        phone.page.keyboard.press("Enter")
        phone.is_in("Paused")
        phone.all_sent()
        assert phone.stored() == phone.given()
    finally:
        shop.stop()
