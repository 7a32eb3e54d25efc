"""What the recording page decides by itself, module by module, in the browser that it is written for."""

import base64
import io
import wave

import numpy as np
import pytest
from browser_shop import Shop
from playwright.sync_api import Page

SENDING = """
const { openKept } = await import("/static/capture_kept.js");
const { Sender } = await import("/static/capture_send.js");
const kept = await openKept();
for (const each of await kept.captures()) await kept.forget(each.key);
const key = "k1";
const fresh = { key, visit: 3, device: "d", started_at: "t", known: false, safe_s: 0, state: "open", why: "" };
const begin = (ended) => kept.put("captures", { ...fresh, ended });
const run = (run) => kept.put("runs", { key, run, mime: "m", started_at: "t", pieces: 0, seconds: 0, known: false });
const bytes = (run, number) => new Uint8Array([run, number]).buffer;
const span = (number) => ({ from_s: number, to_s: number + 1 });
const piece = (run, number) => kept.addPiece({
  key, run, number, ...span(number), bytes: bytes(run, number), sha256: `s${run}${number}`,
});
const asked = [];
let answers = () => ({ status: 200, body: {} });
const ask = async (method, path, body) => {
  asked.push(`${method} ${path.split("?")[0]}`);
  return answers(method, path, body);
};
const sender = new Sender({ kept, ask, onchange: () => {}, pause: () => Promise.resolve(), now: () => 100_000 });
"""


@pytest.fixture
def page(visits, shop: Shop) -> Page:
    page = visits.usual()
    if not page.url.endswith("/uploads"):
        page.goto(f"{shop.url}/uploads")
    return page


def run(page: Page, script: str):
    """Run a script in the page and return what it returns."""
    return page.evaluate(f"async () => {{ {script} }}")


def hush(page: Page, levels: list[tuple[float, float]]) -> list[float]:
    """Seconds without speech after each (level, seconds), fed by tenths."""
    script = """
    const { Hush } = await import("/static/capture_hush.js");
    const hush = new Hush();
    return LEVELS.map(([level, seconds]) => {
      let quiet = 0;
      for (let tenth = 0; tenth < seconds * 10; tenth += 1) quiet = hush.feed(level, 0.1);
      return quiet;
    });"""
    return run(page, script.replace("LEVELS", str([list(each) for each in levels])))


def test_silence_is_counted_from_the_last_speech(page: Page):
    quiet = hush(page, [(-60, 10), (-30, 2), (-60, 20), (-35, 1), (-60, 3)])
    assert quiet[0] == pytest.approx(10)
    assert quiet[1] == 0
    assert quiet[2] == pytest.approx(20, abs=1)
    assert quiet[4] == pytest.approx(3, abs=1)


def test_a_steady_noise_becomes_silence_and_speech_over_it_counts(page: Page):
    quiet = hush(page, [(-60, 5), (-30, 120), (-15, 1), (-30, 10)])
    assert quiet[1] > 60
    assert quiet[2] == 0
    assert quiet[3] == pytest.approx(10, abs=1)


def test_a_knock_is_no_speech(page: Page):
    assert hush(page, [(-60, 30), (-10, 0.2), (-60, 5)])[2] == pytest.approx(35.2, abs=0.2)


def test_it_warns_before_it_stops(page: Page):
    script = """
    const { afterQuiet } = await import("/static/capture_hush.js");
    return [10, 269, 270, 299, 300].map((quiet) => afterQuiet(quiet, 300));"""
    assert run(page, script) == ["go", "go", "warn", "warn", "stop"]


@pytest.mark.parametrize("rate", [16_000, 44_100, 48_000, 8_000])
def test_samples_of_any_rate_become_frames_of_a_tenth_of_a_second(page: Page, rate: int):
    script = """
    const { Framing, wave } = await import("/static/capture_pcm.js");
    const framing = new Framing(RATE);
    const frames = [];
    for (let at = 0; at < RATE; at += 128) {
      const tone = (number) => 0.5 * Math.sin(2 * Math.PI * 200 * (at + number) / RATE);
      const part = Float32Array.from({ length: Math.min(128, RATE - at) }, (_, number) => tone(number));
      for (const { samples } of framing.feed(part)) frames.push(samples);
    }
    const bytes = new Uint8Array(wave(frames));
    const head = btoa(String.fromCharCode(...bytes.slice(0, 44)));
    return [frames.length, head, frames.flatMap((each) => [...each])];"""
    count, head, samples = run(page, script.replace("RATE", str(rate)))
    # What is left over of the last frame comes with the next samples.
    assert count in (9, 10)
    with wave.open(io.BytesIO(base64.b64decode(head) + np.array(samples, "<i2").tobytes())) as file:
        assert (file.getframerate(), file.getnchannels(), file.getsampwidth()) == (16_000, 1, 2)
        assert file.getnframes() == count * 1600
    expected = 16383 * np.sin(2 * np.pi * 200 * np.arange(len(samples)) / 16_000)
    assert np.corrcoef(samples, expected)[0, 1] > 0.99


def test_everything_is_sent_in_order_and_then_joined(page: Page):
    script = f"""{SENDING}
    await begin(50_000); await run(0); await run(1);
    await piece(1, 0); await piece(0, 1); await piece(0, 0);
    await kept.put("marks", {{ key, id: "m1", what: "mark", run: 0, at_s: 1, sent: false, changed: 0 }});
    answers = (method, path) => ({{
      status: 200, body: path.endsWith("done") ? {{ state: "queued" }} : {{ safe_s: asked.length }},
    }});
    await sender.once();
    const row = await kept.capture(key);
    return [asked, (await kept.pieces(key)).length, row.state, row.safe_s];"""
    asked, left, state, safe_s = run(page, script)
    here = "/api/captures/k1"
    assert asked == [
        f"PUT {here}",
        f"PUT {here}/runs/0",
        f"PUT {here}/runs/1",
        f"PUT {here}/runs/0/pieces/0",
        f"PUT {here}/runs/0/pieces/1",
        f"PUT {here}/runs/1/pieces/0",
        f"PUT {here}/marks/m1",
        f"POST {here}/done",
    ]
    assert (left, state, safe_s) == (0, "queued", 6)


def test_a_piece_leaves_the_phone_only_on_the_answer(page: Page):
    script = f"""{SENDING}
    await begin(null); await run(0); await piece(0, 0); await piece(0, 1);
    const good = {{ status: 200, body: {{ safe_s: 1 }} }};
    answers = (method, path) => (path.includes("pieces/1") ? {{ status: 0, body: null }} : good);
    await sender.once();
    const then = [(await kept.pieces(key)).map((each) => each.number), sender.trouble, sender.failures];
    answers = () => ({{ status: 200, body: {{ safe_s: 2 }} }});
    await sender.once();
    return [then, (await kept.pieces(key)).length, sender.trouble, asked.filter((each) => each.includes("pieces"))];"""
    then, left, trouble, asked = run(page, script)
    assert then == [[1], 0, 1]
    assert (left, trouble) == (0, None)
    assert [each[-1] for each in asked] == ["0", "1", "1"]


@pytest.mark.parametrize("status", [401, 403, 429, 500, 503])
def test_what_may_pass_later_is_tried_again(page: Page, status: int):
    script = f"""{SENDING}
    await begin(null); await run(0); await piece(0, 0);
    answers = () => ({{ status: {status}, body: {{ detail: "no" }} }});
    await sender.once();
    return [(await kept.pieces(key)).length, sender.trouble, (await kept.capture(key)).why];"""
    assert run(page, script) == [1, status, ""]


def test_what_is_refused_for_good_stays_and_holds_up_nothing(page: Page):
    script = f"""{SENDING}
    await begin(50_000); await run(0); await piece(0, 0); await piece(0, 1);
    answers = (method, path) => {{
      if (path.includes("pieces/0")) return {{ status: 409, body: {{ detail: "Other bytes." }} }};
      if (path.endsWith("done")) return {{ status: 409, body: {{ missing: [[0, 0]] }} }};
      return {{ status: 200, body: {{ safe_s: 1 }} }};
    }};
    for (let times = 0; times < 3; times += 1) await sender.once();
    const row = await kept.capture(key);
    return [(await kept.pieces(key)).map((each) => each.number), row.state, row.why];"""
    left, state, why = run(page, script)
    assert (left, state) == ([0], "lacking")
    assert "lacks 1 second or so" in why


def test_nothing_recorded_is_told_and_not_sent_off(page: Page):
    script = f"""{SENDING}
    await begin(50_000); await run(0);
    await sender.once();
    return [asked.filter((each) => each.startsWith("POST")), (await kept.capture(key)).state];"""
    assert run(page, script) == [[], "empty"]


def test_what_lacks_something_waits_for_an_advisor(page: Page):
    script = f"""{SENDING}
    await begin(50_000); await kept.change("captures", key, {{ known: true, state: "lacking", why: "w" }});
    const states = [];
    for (const state of ["open", "queued"]) {{
      answers = () => ({{ status: 200, body: {{ state, why: "" }} }});
      await sender.once();
      states.push((await kept.capture(key)).state);
    }}
    return [states, asked.filter((each) => each.startsWith("POST"))];"""
    assert run(page, script) == [["lacking", "queued"], []]


def test_a_server_that_forgot_is_told_anew(page: Page):
    script = f"""{SENDING}
    await begin(null); await run(0); await piece(0, 0);
    await kept.change("captures", key, {{ known: true }}); await kept.change("runs", [key, 0], {{ known: true }});
    let knows = false;
    answers = (method, path) => {{
      knows ||= path.endsWith("/runs/0");
      return {{ status: path.includes("pieces") && !knows ? 404 : 200, body: {{ safe_s: 1 }} }};
    }};
    await sender.once(); await sender.once();
    return [asked, (await kept.pieces(key)).length];"""
    asked, left = run(page, script)
    here = "/api/captures/k1"
    again = [f"PUT {here}", f"PUT {here}/runs/0", f"PUT {here}/runs/0/pieces/0"]
    assert (asked, left) == ([f"PUT {here}/runs/0/pieces/0", *again], 0)


def test_the_end_waits_as_long_as_it_can_be_taken_back(page: Page):
    script = f"""{SENDING}
    await begin(99_000); await run(0); await piece(0, 0);
    answers = () => ({{ status: 200, body: {{ safe_s: 1, state: "open" }} }});
    await sender.once();
    return asked.filter((each) => each.startsWith("POST"));"""
    assert run(page, script) == []


def test_a_mark_changed_while_it_is_sent_is_sent_again(page: Page):
    script = f"""{SENDING}
    await begin(null);
    const mark = {{ key, id: "m1", what: "mark", run: 0, at_s: 1, undone: false, sent: false, changed: 0 }};
    await kept.put("marks", mark);
    const told = [];
    answers = async (method, path, body) => {{
      if (path.includes("marks")) {{
        told.push(body.undone);
        if (told.length === 1) await kept.put("marks", {{ ...mark, undone: true, changed: 1 }});
      }}
      return {{ status: 200, body: {{}} }};
    }};
    await sender.once(); await sender.once(); await sender.once();
    return told;"""
    assert run(page, script) == [False, True]


def test_what_the_page_says(page: Page):
    script = """
    const { waitingWords, matching, bestKind, waitAfter, newKey, markWords } =
      await import("/static/capture_words.js");
    const orders = [
      { plate: "7ABC-123", number: "1040", vehicle: "2019 Ford F-150" },
      { plate: "", number: "1041", vehicle: "2020 Honda Civic" },
    ];
    const much = { pieces: 61, waiting_s: 61, photos: 1, trouble: "T." };
    return {
      waiting: [waitingWords({}), waitingWords({ pieces: 1, waiting_s: 1.02 }), waitingWords(much)],
      orders: ["7abc 1", "civic 1041", "x", ""].map((typed) => matching(orders, typed).length),
      kinds: [bestKind((kind) => kind.includes("mp4")), bestKind(() => false)],
      waits: [1, 2, 3, 9].map(waitAfter),
      key: newKey(),
      mark: markWords({ what: "take_back", about: "left front tire" }),
    };"""
    told = run(page, script)
    assert told["waiting"] == [
        "",
        "1 second still on this phone",
        "61 seconds still on this phone, 1 photo still on this phone. T.",
    ]
    assert told["orders"] == [1, 1, 0, 2]
    assert told["kinds"] == ["audio/mp4;codecs=opus", None]
    assert told["waits"] == [0.5, 1, 2, 5]
    assert len(told["key"]) == 32
    assert int(told["key"], 16) > 0
    assert told["mark"] == "Taken back: left front tire"
