// Sends what the phone keeps, in order, until the shop's computer has acknowledged it; without a device of its own,
// so that it can be tested with a store and an answering function made for that.

import { waitAfter } from "./capture_words.js";

const REPEATED = new Set([0, 401, 403, 404, 408, 425, 429]);
const TRIES = 3;
const OVER = new Set(["done", "failed", "empty"]);
/** Seconds in which the end of a recording can be taken back. */
export const GRACE_S = 5;

/** It cannot be sent now, and nothing is wrong with what was to be sent. */
class Later extends Error {
  constructor(status) {
    super(`later (${status})`);
    this.status = status;
  }
}

export class Sender {
  /**
   * ask(method, path, body, bytes) gives {status, body}; status 0 where nobody answers. pause(seconds) resolves then.
   * onchange() is called when something was sent or could not be; onlate(key) when the recording was ended by somebody
   * else, and tells later whether what is left of it found another place.
   */
  constructor({ kept, ask, onchange, onlate = async () => false, pause = rest, now = Date.now }) {
    Object.assign(this, { kept, ask, onchange, onlate, pause, now });
    this.failures = 0;
    /** Captures that others ended: those whose rest is being moved, and those of which nothing could be. */
    this.moving = new Set();
    this.stuck = new Set();
    /** HTTP status of the last failure while it lasts, else null. */
    this.trouble = null;
    this.news = null;
    this.woken = false;
  }

  /** There is something to send. */
  wake() {
    this.woken = true;
    this.news?.();
  }

  /** The network is back, or somebody signed in: do not wait out the pause. */
  retry() {
    this.failures = 0;
    this.wake();
  }

  async run() {
    for (;;) {
      this.woken = false;
      await this.once();
      this.onchange();
      await this.untilNeeded();
    }
  }

  /** One round over everything that waits. */
  async once() {
    try {
      for (const capture of await this.kept.captures()) await this.sendCapture(capture);
      this.failures = 0;
      this.trouble = null;
    } catch (error) {
      // Whatever goes wrong: sending goes on, and nothing leaves the phone's keeping meanwhile.
      if (!(error instanceof Later)) console.error(error);
      this.failures += 1;
      this.trouble = error.status ?? 0;
    }
  }

  /** New pieces do not cut a pause short while nobody answers; `retry` does. */
  async untilNeeded() {
    if (!this.failures) {
      if (this.woken) return;
      await Promise.race([new Promise((done) => { this.news = done; }), this.pause(3)]);
      return;
    }
    const failures = this.failures;
    const end = this.pause(waitAfter(failures));
    let over = false;
    end.then(() => { over = true; });
    while (!over && this.failures === failures) await Promise.race([new Promise((done) => { this.news = done; }), end]);
  }

  async sendCapture({ key }) {
    let capture = await this.kept.capture(key);
    if (!capture || OVER.has(capture.state)) return;
    if (!capture.known) {
      const { visit, device, started_at } = capture;
      await this.put(`/api/captures/${key}`, { visit, device, started_at });
      await this.kept.change("captures", key, { known: true });
    }
    for (const run of await this.kept.runs(key)) {
      if (run.known) continue;
      await this.put(`/api/captures/${key}/runs/${run.run}`, { mime: run.mime, started_at: run.started_at });
      await this.kept.change("runs", [key, run.run], { known: true });
    }
    await this.sendPieces(key);
    await this.sendMarks(key);
    await this.sendPhotos(key);
    capture = await this.kept.capture(key);
    if (["joining", "queued", "lacking"].includes(capture.state)) await this.follow(key, capture.state);
    else if (capture.ended && this.now() - capture.ended >= GRACE_S * 1000) await this.end(key);
  }

  async begun(key, known) {
    await this.kept.change("captures", key, { known });
    for (const { run } of await this.kept.runs(key)) await this.kept.change("runs", [key, run], { known });
  }

  async sendPieces(key) {
    let after = null;
    for (let piece; (piece = await this.kept.nextPiece(key, after)); after = piece) {
      if (piece.refused) continue;
      const { run, number, from_s, to_s, sha256 } = piece;
      const asked = `from_s=${from_s}&to_s=${to_s}&sha256=${sha256}`;
      const answer = await this.put(`/api/captures/${key}/runs/${run}/pieces/${number}?${asked}`, piece.bytes, true);
      if (answer.refused) {
        if (await this.endedByOthers(key)) return this.late(key);
        await this.refuse(piece, answer.refused);
      } else await this.kept.isSafe(piece, answer.safe_s);
      this.onchange();
    }
  }

  /** Have what is left moved, without waiting for it: that may itself wait for room which only sending makes. */
  late(key) {
    if (this.moving.has(key)) return;
    this.moving.add(key);
    this.onlate(key).then((moved) => moved || this.stuck.add(key), () => this.stuck.add(key)).finally(() => {
      this.moving.delete(key);
      this.wake();
    });
  }

  /** What is refused again and again stays on the phone, said so, and does not hold up the rest. */
  async refuse(piece, sentence) {
    const tries = (piece.tries ?? 0) + 1;
    const over = tries >= TRIES;
    await this.kept.put("pieces", { ...piece, tries, refused: over ? sentence : null });
    if (!over) throw new Later(422);
    await this.kept.change("captures", piece.key, { why: sentence });
  }

  async endedByOthers(key) {
    if (this.stuck.has(key)) return false;
    const { status, body } = await this.ask("GET", `/api/captures/${key}`, null, false);
    if (laterStatus(status)) throw new Later(status);
    return status < 300 && Boolean(body.job);
  }

  async sendMarks(key) {
    for (const mark of await this.kept.marks(key)) {
      if (mark.sent) continue;
      const answer = await this.put(`/api/captures/${key}/marks/${mark.id}`, markSent(mark));
      await this.kept.isSent("marks", mark, answer.refused ? { refused: answer.refused } : {});
    }
  }

  async sendPhotos(key) {
    for (const photo of await this.kept.photos(key)) {
      if (photo.sent || photo.refused) continue;
      const path = `/api/captures/${key}/photos/${photo.id}?run=${photo.run}&at_s=${photo.at_s}`;
      const answer = await this.put(path, photo.bytes, true);
      if (answer.refused) await this.kept.put("photos", { ...photo, refused: answer.refused });
      else await this.kept.isSent("photos", photo, { bytes: null });
      if (answer.refused) await this.kept.change("captures", key, { why: answer.refused });
      this.onchange();
    }
  }

  /** Everything is there: have it joined. */
  async end(key) {
    const runs = (await this.kept.runs(key)).filter((each) => each.pieces);
    if (!runs.length) return this.kept.change("captures", key, { state: "empty", why: "" });
    if ((await this.kept.nextPiece(key)) !== null && !(await this.onlyRefused(key))) return;
    const asked = { runs: runs.map(({ run, pieces }) => ({ run, pieces })) };
    const { status, body } = await this.ask("POST", `/api/captures/${key}/done`, asked, false);
    if (laterStatus(status)) throw new Later(status);
    if (status < 300) await this.take(key, body);
    else await this.kept.change("captures", key, { state: "lacking", why: body?.detail ?? lacking(body?.missing ?? []) });
    this.onchange();
  }

  async onlyRefused(key) {
    return (await this.kept.pieces(key)).every((each) => each.refused);
  }

  /** What became of it; what lacks something waits for an advisor, who may end it as it is. */
  async follow(key, before) {
    const { status, body } = await this.ask("GET", `/api/captures/${key}`, null, false);
    if (laterStatus(status)) throw new Later(status);
    if (status >= 300 || (before === "lacking" && body.state === "open")) return;
    // Somebody ended it without what was refused before.
    if (body.job && !this.stuck.has(key) && (await this.kept.nextPiece(key)) !== null) return this.late(key);
    await this.take(key, body);
  }

  async take(key, { state, why = "", walkaround = null, safe_s }) {
    const capture = await this.kept.capture(key);
    await this.kept.change("captures", key, { state, why: why || (capture.carried ? capture.why : ""), walkaround, safe_s: safe_s ?? capture.safe_s });
  }

  /** The answer's body; {refused: sentence} where it is refused for good. */
  async put(path, body, bytes = false) {
    const { status, body: answer } = await this.ask("PUT", path, body, bytes);
    // The shop's computer was set back to an older day: tell it again what it knew.
    if (status === 404) await this.begun(path.split("/")[3], false);
    if (laterStatus(status)) throw new Later(status);
    return status < 300 ? answer ?? {} : { refused: answer?.detail ?? `It was refused (${status}).` };
  }
}

function laterStatus(status) {
  return status >= 500 || REPEATED.has(status);
}

function lacking(missing) {
  const count = missing.length === 1 ? "1 second or so" : `about ${missing.length} seconds`;
  return `The shop’s computer lacks ${count} of this recording, and this phone has no more of it; an advisor can finish it without them.`;
}

/** A mark as the server takes it. */
export function markSent(mark) {
  const names = ["id", "what", "run", "at_s", "end_s", "said", "undone", "about_start_s", "about_end_s", "field", "value"];
  return Object.fromEntries(names.filter((name) => mark[name] !== undefined).map((name) => [name, mark[name]]));
}

function rest(seconds) {
  return new Promise((done) => setTimeout(done, seconds * 1000));
}
