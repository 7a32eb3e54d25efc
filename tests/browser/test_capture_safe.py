"""Nothing lost: network cut, server killed, page loaded anew, tab closed, and all of it arrives."""

from collections.abc import Callable, Iterator
from pathlib import Path

import av
import numpy as np
import pytest
from browser_shop import Shop
from capture_phone import Phone, played
from playwright.sync_api import expect

from narrate.work.capturing import end_capture

CUT_S = 60
"""How long the network is away."""
GONE = "ERR_INTERNET_DISCONNECTED|ERR_CONNECTION|ERR_EMPTY_RESPONSE|ERR_FAILED|ERR_NETWORK_CHANGED|500|WebSocket"
REFUSED = "409"

LATE = """
navigator.mediaDevices.getUserMedia = async () => {
  const context = new AudioContext();
  const heard = context.createMediaStreamDestination();
  const tone = new OscillatorNode(context, { frequency: 440 });
  tone.connect(heard);
  tone.start(context.currentTime + 1.5);
  return heard.stream;
};
"""
"""A microphone that is open a good second before any sound comes in, as one was seen to be in Firefox."""


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """Return a server of this test's own."""
    running = Shop(tmp_path / "data", "--no-worker").start()
    yield running
    running.stop()


@pytest.fixture
def phone(visits, phones: Callable[..., Phone]) -> Phone:
    visits.expect(GONE)
    return phones().open()


def alike(stored: list[list[str]], given: list[list[str]], *, broken_off: int = 0) -> None:
    """What lies in the store is what the recorders gave, byte for byte and in order, once each.

    broken_off: how many of the first runs ended with their tab, whose last piece may have been on its way anywhere.
    """
    assert len(stored) == len(given)
    for number, (there, here) in enumerate(zip(stored, given, strict=True)):
        if number < broken_off:
            assert abs(len(there) - len(here)) <= 1
            count = min(len(there), len(here))
            there, here = there[:count], here[:count]
        assert there == here
        assert len(set(there)) == len(there) > 0


def test_a_recording_becomes_one_file(phone: Phone, shop: Shop):
    phone.start().until_safe(4)
    assert phone.on_disk() == phone.stored()
    phone.touch("Done")
    phone.is_in("All safe")
    alike(phone.stored(), phone.given())
    [file] = phone.finished()
    expected_s = sum(run.seconds for run in phone.capture().runs)
    assert played(file) == pytest.approx(expected_s, abs=0.5)
    assert phone.rows("pieces") == []
    assert phone.rows("captures")[0]["state"] == "queued"


def test_recording_is_not_said_to_run_before_sound_comes_in(phone: Phone, shop: Shop):
    phone.context.add_init_script(LATE)
    phone.page.reload()
    phone.is_in("Ready")
    phone.start().until_safe(3)
    phone.touch("Done")
    phone.is_in("All safe")
    [file] = phone.finished()
    with av.open(str(file)) as opened:
        sound = np.concatenate([frame.to_ndarray()[0] for frame in opened.decode(audio=0)])
        rate = opened.streams.audio[0].rate
    loud = np.flatnonzero(np.abs(sound) > 0.1 * np.abs(sound).max())
    assert loud[0] / rate < 0.5
    assert sound.size / rate == pytest.approx(sum(run.seconds for run in phone.capture().runs), abs=0.5)


def test_through_a_cut_a_kill_a_reload_and_a_closed_tab(phone: Phone, shop: Shop):
    port = shop.port
    phone.start().until_safe(2)

    phone.context.set_offline(True)
    expect(phone.page.locator("#waiting")).to_contain_text("still on this phone")
    phone.page.wait_for_timeout(CUT_S * 1000)
    assert len(phone.rows("pieces")) >= CUT_S - 5
    assert phone.safe() < 10
    phone.context.set_offline(False)
    phone.until_safe(CUT_S)

    shop.kill()
    phone.page.wait_for_timeout(4000)
    assert phone.rows("pieces")
    shop.start(port)
    phone.until_safe(CUT_S + 4)
    phone.is_in("Recording")
    assert len(phone.given()) == 1

    shop.kill()
    phone.page.wait_for_timeout(2000)
    phone.page.reload()
    phone.is_in("Paused")
    assert phone.rows("pieces")
    phone.touch("Go on")
    phone.is_in("Recording")
    shop.start(port)
    phone.page.wait_for_timeout(3000)

    phone.page.close()
    phone.page = phone.context.new_page()
    phone.open()
    phone.is_in("Paused")
    phone.touch("Go on")
    phone.is_in("Recording")
    phone.page.wait_for_timeout(3000)
    phone.touch("Done")
    phone.is_in("All safe")

    alike(phone.stored(), phone.given(), broken_off=2)
    [file] = phone.finished()
    capture = phone.capture()
    assert [run.run for run in capture.runs] == [0, 1, 2]
    assert played(file) == pytest.approx(sum(run.seconds for run in capture.runs), abs=1.5)
    assert capture.runs[0].seconds > CUT_S
    gaps = [gap for told in capture.told["recordings"] for gap in told["gaps"]]
    ends = [capture.runs[0].seconds, capture.runs[0].seconds + capture.runs[1].seconds]
    assert [gap["at_s"] for gap in gaps] == pytest.approx(ends, abs=1)
    assert all(0 < gap["missing_s"] < 30 for gap in gaps)


def test_it_opens_and_records_without_a_network(phone: Phone, shop: Shop):
    phone.page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    phone.until(lambda: phone.page.evaluate("caches.keys().then((names) => names.length)") == 1)
    phone.context.set_offline(True)
    phone.page.reload()
    phone.is_in("Ready")
    phone.start()
    phone.page.wait_for_timeout(3000)
    assert len(phone.rows("pieces")) >= 2
    phone.touch("Done")
    phone.is_in("Sending")
    phone.context.set_offline(False)
    phone.is_in("All safe")
    alike(phone.stored(), phone.given())


def test_the_next_recording_begins_while_the_last_is_still_sent(phone: Phone, shop: Shop):
    phone.start().until_safe(1)
    phone.context.set_offline(True)
    phone.page.wait_for_timeout(2500)
    phone.touch("Done")
    phone.is_in("Sending")
    phone.touch("Next recording")
    first = phone.key
    phone.start()
    expect(phone.page.locator("#kept-list")).to_contain_text("still on this phone")
    phone.context.set_offline(False)
    phone.until_safe(2)
    expect(phone.page.locator("#kept-list")).to_contain_text("All safe")
    phone.touch("Done")
    phone.is_in("All safe")
    assert phone.key != first
    assert all(row["state"] == "queued" for row in phone.rows("captures"))


def test_a_recording_that_somebody_ends_meanwhile_goes_on_as_another(phone: Phone, shop: Shop, visits):
    visits.expect(REFUSED)
    phone.start().until_safe(3)
    phone.context.set_offline(True)
    phone.until(lambda: len(phone.rows("pieces")) >= 3)
    first = phone.key
    ended = end_capture(shop.store, first, who="Ada")
    early = phone.stored()
    phone.context.set_offline(False)
    expect(phone.page.locator("#told")).to_contain_text("Somebody ended this recording")
    phone.is_in("Recording")
    second = next(row["key"] for row in phone.rows("captures") if row["key"] != first)
    expect(phone.page.locator("#kept-list")).to_contain_text("An advisor ended this recording")
    phone.until_safe(5)
    phone.touch("Done")
    phone.is_in("All safe")

    files = phone.finished(second)
    later = phone.capture(second)
    given = phone.given()
    count = len(early[0])
    left = [piece.sha256 for piece in later.runs[0].pieces.values()]
    assert early[0] == given[0][:count]
    # The first of what was left got the recorder's header, so that it can be played without what went before.
    assert left[1:] == given[0][count + 1 :]
    assert [piece.sha256 for piece in later.runs[1].pieces.values()] == given[1]
    assert len(later.runs) == len(given) == 2
    expected_s = sum(run.seconds for run in later.runs)
    assert sum(played(file) for file in files) == pytest.approx(expected_s, abs=0.7)
    assert ended.job_id is not None
    assert phone.rows("pieces") == []


def test_what_is_left_arrives_though_somebody_ended_it_and_the_page_was_closed(phone: Phone, shop: Shop, visits):
    visits.expect(REFUSED)
    phone.start().until_safe(2)
    phone.context.set_offline(True)
    phone.until(lambda: len(phone.rows("pieces")) >= 3)
    phone.touch("Pause")
    phone.is_in("Paused")
    first = phone.key
    end_capture(shop.store, first, who="Ada")
    phone.page.close()
    phone.page = phone.context.new_page()
    phone.context.set_offline(False)
    phone.open()
    phone.all_sent()
    second = next(row["key"] for row in phone.rows("captures") if row["key"] != first)
    assert phone.capture(second).safe_s > 2
    phone.is_in("Paused")
    phone.touch("Done: make the list")
    phone.is_in("All safe")
    [file] = phone.finished(second)
    assert played(file) == pytest.approx(phone.capture(second).runs[0].seconds, abs=0.7)
