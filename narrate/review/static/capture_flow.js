// What happens to one capture: begun, paused, gone on with, ended. Knows nothing of how it looks.

import { Run } from "./capture_record.js";
import { afterQuiet, Hush } from "./capture_hush.js";
import { carryOver } from "./capture_left.js";
import { newKey } from "./capture_words.js";
import { GRACE_S } from "./capture_send.js";

const WARN_AGAIN_S = 10;
const RESTARTS = 3;
const LATE = "Somebody ended this recording at the shop’s computer; what is not there yet is a new one.";

export class Flow {
  /**
   * kept, sender, aloud; settings() gives {clean, silence_s}; hooks: onstate(), onframe(frame), onrun(run or null),
   * onmoved(key) when what is in hand has another key, tell(sentence).
   */
  constructor({ kept, sender, aloud, settings, onstate, onframe, onrun, onmoved, tell }) {
    Object.assign(this, { kept, sender, aloud, settings, onstate, onframe, onrun, onmoved, tell });
    this.full = false;
    this.state = "ready";
    this.sentence = "";
    this.key = null;
    this.visit = null;
    this.run = null;
    this.earlier_s = 0;
    this.hush = new Hush();
    this.warned_s = -WARN_AGAIN_S;
    this.lock = null;
    this.restarts = 0;
    this.step = Promise.resolve();
    document.addEventListener("visibilitychange", () => { if (!document.hidden && this.run) this.stayAwake(); });
  }

  /** Steps follow one another, however fast somebody touches. */
  inTurn(work) {
    this.step = this.step.then(work).catch((error) => this.to(this.key ? "paused" : "ready", error.message));
    return this.step;
  }

  to(state, sentence = "") {
    this.state = state;
    this.sentence = sentence;
    this.onstate();
  }

  begin(order) {
    return this.inTurn(async () => {
      if (this.run) return;
      this.to("asking");
      const key = newKey();
      const run = await this.open(key, 0);
      const capture = { key, visit: order?.visit ?? null, about: order?.about ?? "", device: navigator.userAgent.slice(0, 200), started_at: new Date().toISOString() };
      await this.kept.put("captures", { ...capture, known: false, safe_s: 0, ended: null, state: "open", why: "", walkaround: null });
      await this.rolling(run);
    });
  }

  goOn(capture = null) {
    return this.inTurn(async () => {
      if (this.run) return;
      const key = capture?.key ?? this.key;
      const { state } = await this.kept.capture(key);
      if (!["open", "lacking"].includes(state)) return this.tell("This recording is being made into its list already: begin the next one.");
      this.to("asking");
      const runs = await this.kept.runs(key);
      await this.kept.change("captures", key, { ended: null, state: "open", why: "" });
      const run = await this.open(key, 1 + Math.max(-1, ...runs.map((each) => each.run)));
      await this.rolling(run);
    });
  }

  /** A run whose microphone is open and which records. */
  async open(key, number) {
    this.earlier_s = (await this.kept.runs(key)).reduce((sum, each) => sum + each.seconds, 0);
    const run = new Run({
      kept: this.kept, key, run: number,
      onpiece: () => { this.sender.wake(); this.onstate(); },
      onframe: (frame) => this.frame(frame),
      onlost: (sentence) => this.lost(run, sentence),
      onfull: (full) => { this.full = full; this.tell(full ? "This phone has no room left: free some, and keep this page open meanwhile." : ""); },
    });
    try {
      await run.start(this.settings());
    } catch (error) {
      await run.stop();
      throw error;
    }
    return run;
  }

  async rolling(run) {
    this.key = run.key;
    this.visit = (await this.kept.capture(run.key)).visit;
    this.run = run;
    this.hush = new Hush();
    this.warned_s = -WARN_AGAIN_S;
    await this.stayAwake();
    this.aloud.tone("start");
    this.to("recording");
    this.onrun(run);
    this.sender.wake();
  }

  async halt() {
    const run = this.run;
    this.run = null;
    this.onrun(null);
    await run?.stop();
    await this.lock?.release().catch(() => {});
    this.lock = null;
    if (run) this.aloud.tone("stop");
    this.sender.wake();
  }

  pause(sentence = "") {
    return this.inTurn(async () => {
      if (!this.run) return;
      await this.halt();
      this.to("paused", sentence);
    });
  }

  /** End a capture; for some seconds that can be taken back by going on. */
  end(capture = null) {
    return this.inTurn(async () => {
      await this.halt();
      this.key = capture?.key ?? this.key;
      await this.kept.change("captures", this.key, { ended: Date.now(), state: "open" });
      this.to("ending");
      setTimeout(() => this.sender.wake(), GRACE_S * 1000 + 50);
    });
  }

  /** Leave the capture in hand on the phone and be ready for another. */
  next() {
    return this.inTurn(async () => {
      await this.halt();
      this.key = null;
      this.to("ready");
    });
  }

  /** The phone ended a run by itself (a call, another program): go on at once, in a run of its own. */
  lost(run, sentence) {
    return this.inTurn(async () => {
      if (this.run !== run) return;
      this.restarts = run.at_s > 60 ? 1 : this.restarts + 1;
      await this.halt();
      if (this.restarts > RESTARTS) return this.to("paused", `${sentence} Touch to go on.`);
      this.tell(`${sentence} Recording goes on, with a gap.`);
      await this.rolling(await this.open(run.key, run.run + 1));
    });
  }

  /** Somebody else ended the capture: what is left of it becomes another one, and recording goes on there. */
  async late(key) {
    // A full phone finishes its last pieces only when others have gone, and these go only from their new place.
    let moved = this.full && (await carryOver(this.kept, key)).moved;
    if (moved) this.sender.wake();
    await this.inTurn(async () => {
      const going = this.run?.key === key;
      if (going) await this.halt();
      try {
        const carried = await carryOver(this.kept, key);
        moved ||= carried.moved;
        if (carried.to && this.key === key) await this.goOnIn(carried.to, going);
        else if (going) this.to("paused", LATE);
      } catch (error) {
        if (going) this.to("paused", error.message);
      }
      this.onstate();
    });
    return moved;
  }

  async goOnIn(to, going) {
    this.key = to;
    await this.onmoved(to);
    this.tell(LATE);
    if (!going) return;
    const runs = await this.kept.runs(to);
    await this.rolling(await this.open(to, 1 + Math.max(-1, ...runs.map((each) => each.run))));
  }

  frame(frame) {
    this.onframe(frame);
    const { silence_s } = this.settings();
    const quiet_s = this.hush.feed(frame.level_db, 0.1);
    const what = afterQuiet(quiet_s, silence_s);
    if (what === "go") this.warned_s = -WARN_AGAIN_S;
    if (what === "warn" && quiet_s >= this.warned_s + WARN_AGAIN_S) {
      this.warned_s = quiet_s;
      this.aloud.tone("warn");
      this.tell("Nobody has spoken for a while: recording pauses in half a minute, unless somebody speaks.");
    }
    if (what === "stop") this.pause("Nobody spoke for a while, so recording paused. Nothing is lost.");
  }

  /** Somebody was understood or touched the page. */
  heard() {
    this.hush.heard();
  }

  async stayAwake() {
    try {
      this.lock = await navigator.wakeLock?.request("screen") ?? null;
    } catch {
      this.lock = null;
    }
  }
}
