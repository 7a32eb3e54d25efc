// The page on which a phone records: everything put together. What it decides by itself stands in the other files.

import { Aloud } from "./capture_aloud.js";
import { checkMicrophone } from "./capture_check.js";
import { Flow } from "./capture_flow.js";
import { openKept } from "./capture_kept.js";
import { Listening } from "./capture_listening.js";
import { whyUnable } from "./capture_microphone.js";
import { OrderChoice } from "./capture_order.js";
import { draw, stateShown } from "./capture_screen.js";
import { GRACE_S, Sender } from "./capture_send.js";
import { Settings } from "./capture_settings.js";
import { Shelf } from "./capture_shelf.js";
import { orderLine } from "./capture_words.js";
import { el, fill } from "./dom.js";

const LOCK = "narrate-capture";
const SECOND_MS = 1000;
const ANSWER_MS = 20_000;
/** Joining reads hours of sound to their end. */
const JOINED_MS = 300_000;
const place = (id) => document.getElementById(id);

class CapturePage {
  async open() {
    this.settings = new Settings();
    this.aloud = new Aloud((speaking) => this.listening.speaking(speaking));
    this.kept = await openKept();
    this.sender = new Sender({ kept: this.kept, ask, onchange: () => this.show(), onlate: (key) => this.flow.late(key) });
    this.flow = new Flow({
      kept: this.kept, sender: this.sender, aloud: this.aloud,
      settings: () => this.settings.recording,
      onstate: () => this.show(),
      onframe: (frame) => this.listening.frame(frame),
      onrun: (run) => this.listening.follow(run),
      onmoved: (key) => this.listening.marks.show(key),
      tell,
    });
    this.listening = new Listening({ kept: this.kept, sender: this.sender, flow: this.flow, aloud: this.aloud, settings: this.settings, tell });
    this.order = new OrderChoice(() => {});
    this.shelf = new Shelf({ kept: this.kept, actions: { goOn: (capture) => this.goOn(capture), end: (capture) => this.flow.end(capture) } });
    await this.shelf.tidy();
    await this.findUnfinished();
    this.wire();
    this.sender.run();
    this.order.load(Number(new URLSearchParams(location.search).get("visit")) || null);
    this.show();
    setInterval(() => this.show(), SECOND_MS);
  }

  /** What was being recorded when the page was closed is taken in hand again; nothing starts by itself. */
  async findUnfinished() {
    const unfinished = (await this.kept.captures()).filter((each) => !each.ended).sort((one, other) => one.started_at.localeCompare(other.started_at)).at(-1);
    if (!unfinished) return;
    this.flow.key = unfinished.key;
    await this.listening.marks.show(unfinished.key);
    this.flow.to("paused", "This recording was broken off. Go on with it, or make the list of what there is.");
  }

  wire() {
    place("check").addEventListener("click", () => this.check());
    window.addEventListener("online", () => this.sender.retry());
    document.addEventListener("visibilitychange", () => { if (!document.hidden) this.sender.retry(); });
    window.addEventListener("beforeunload", (event) => { if (this.flow.run) event.preventDefault(); });
    document.addEventListener("pointerdown", () => this.flow.heard());
  }

  begin() {
    this.aloud.unlock();
    const order = this.order.chosen;
    return this.flow.begin(order && { visit: order.visit, about: orderLine(order) });
  }

  /** The end is taken back, and the command that was its reason. */
  goOnAfterAll() {
    this.listening.marks.undoLast("done");
    return this.goOn();
  }

  goOn(capture = null) {
    this.aloud.unlock();
    return this.flow.goOn(capture);
  }

  /** Draw everything; a drawing that is asked for meanwhile follows. */
  async show() {
    this.again = true;
    if (this.drawing) return;
    this.drawing = true;
    while (this.again) {
      this.again = false;
      await this.drawOnce();
    }
    this.drawing = false;
  }

  async drawOnce() {
    const { key } = this.flow;
    const capture = key ? await this.kept.capture(key) : null;
    const waiting = key ? await this.kept.waiting(key) : {};
    const graceOver = Boolean(capture?.ended) && Date.now() - capture.ended >= GRACE_S * 1000;
    const state = stateShown(this.flow.state, capture, graceOver);
    const sentence = this.flow.state === "ending" && graceOver ? "" : this.flow.sentence;
    draw({ state, sentence, capture, waiting, trouble: this.sender.trouble, ...this.choices(state, capture) });
    const recording = state === "recording";
    document.title = `${recording ? "● Recording" : "Record"} – narrate`;
    place("commands").hidden = !recording;
    place("live").hidden = !recording && !this.listening.found.rows.size;
    this.order.show(state === "ready");
    for (const id of ["sayings", "settings", "another"]) if (place(id)) place(id).hidden = !["ready", "paused", "unable"].includes(state);
    await this.shelf.show(key, Boolean(this.flow.run));
  }

  /** The big button and those beside it: in each state the next thing to do, and what else can be done. */
  choices(state, capture) {
    const begin = () => this.begin();
    const next = () => { this.order.choose(null); return this.flow.next(); };
    const list = capture?.walkaround ? [["Open the list", `/walkarounds/${capture.walkaround}`]] : [];
    switch (state) {
      case "ready":
        if (this.settings.now.checked) return { big: ["Start", begin], beside: [] };
        return { big: ["Check the microphone", () => this.check()], beside: [["Start without that", begin]] };
      case "recording":
        return { big: ["Done", () => this.flow.end()], beside: [["Pause", () => this.flow.pause()]] };
      case "paused":
        return { big: ["Go on", () => this.goOn()], beside: [["Done: make the list", () => this.flow.end()], ["Another vehicle", next]] };
      case "ending":
        return { big: ["Go on after all", () => this.goOnAfterAll()], beside: [] };
      case "sending": case "joining": case "queued": case "done": case "failed": case "lacking": case "empty":
        return { big: ["Next recording", next], beside: list };
      default:
        return { big: null, beside: [] };
    }
  }

  async check() {
    this.aloud.unlock();
    const told = (sentences) => fill(place("checked"), sentences.map((text) => el("li", { text })));
    place("settings").open = true;
    place("checked").scrollIntoView({ block: "nearest" });
    try {
      told(["Read this aloud, as far from the phone as you will work:", "“Left front tire is at six thirty-seconds, rear brake pads look fine.”"]);
      const { sentences = [], good = true } = await checkMicrophone({
        clean: this.settings.now.clean,
        progress: (left) => tell(left > 0 ? `Listening: ${left}` : "Judging what was heard."),
      });
      told(sentences);
      tell(good ? "The microphone will do." : "Better mend that first; recording works nevertheless.");
      this.settings.set("checked", true);
    } catch (error) {
      told([error.message]);
      tell(error.message);
      this.settings.set("checked", true);
    }
    this.show();
  }
}

/** One request of the sender: {status, body}; status 0 where nobody answers. */
async function ask(method, path, body, bytes) {
  const options = { method, signal: AbortSignal.timeout?.(method === "POST" ? JOINED_MS : ANSWER_MS) };
  if (body !== null) {
    options.headers = { "Content-Type": bytes ? "application/octet-stream" : "application/json" };
    options.body = bytes ? body : JSON.stringify(body);
  }
  try {
    const answer = await fetch(path, options);
    const json = answer.headers.get("Content-Type")?.startsWith("application/json");
    return { status: answer.redirected ? 401 : answer.status, body: json ? await answer.json() : null };
  } catch {
    return { status: 0, body: null };
  }
}

function tell(sentence) {
  const told = place("told");
  told.hidden = !sentence;
  if (told.textContent !== sentence) told.textContent = sentence;
}

function unable(sentence) {
  draw({ state: "unable", sentence, capture: null, waiting: {}, trouble: null, big: null, beside: [] });
  place("another").open = true;
  place("settings").hidden = true;
}

const why = whyUnable();
if (why) unable(why);
else {
  // One tab of a phone records and sends; another one waits until that is closed.
  const alone = new Promise(() => {});
  const open = () => { new CapturePage().open().catch((error) => unable(`The phone does not let this page keep anything (${error.message}); use an ordinary tab, no private one.`)); return alone; };
  if (!navigator.locks) open();
  else navigator.locks.request(LOCK, { ifAvailable: true }, (lock) => {
    if (lock) return open();
    draw({ state: "elsewhere", sentence: "", capture: null, waiting: {}, trouble: null, big: null, beside: [] });
    navigator.locks.request(LOCK, open);
    return null;
  });
  navigator.serviceWorker?.register("/capture-worker.js", { scope: "/capture" }).catch(() => {});
}
