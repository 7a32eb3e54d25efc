// One run: a MediaRecorder from its start to its end, each piece kept on the phone as it comes.

import { headerOf } from "./capture_left.js";
import { listen, openMicrophone, close } from "./capture_microphone.js";
import { bestKind, hex } from "./capture_words.js";

const PIECE_MS = 1000;
const BITS_PER_S = 48_000;
const STUCK_S = 8;
const START_MS = 10_000;
const SOUND_MS = 3000;

export class Run {
  /** onpiece() after each piece is kept; onframe({samples, level_db}); onlost(sentence) when the phone ends it; onfull(bool). */
  constructor({ kept, key, run, onpiece, onframe, onlost, onfull }) {
    Object.assign(this, { kept, key, run, onpiece, onframe, onlost, onfull });
    this.number = 0;
    this.to_s = 0;
    this.began = null;
    this.keeping = Promise.resolve();
    this.over = false;
  }

  /** Seconds since it began, by the phone's clock. */
  get at_s() {
    return this.began === null ? 0 : Math.round(performance.now() - this.began) / 1000;
  }

  async start({ clean = false } = {}) {
    this.stream = await openMicrophone(clean);
    const mime = bestKind((kind) => MediaRecorder.isTypeSupported(kind));
    this.recorder = new MediaRecorder(this.stream, { ...(mime && { mimeType: mime }), audioBitsPerSecond: BITS_PER_S });
    this.recorder.ondataavailable = ({ data }) => this.took(data);
    for (const track of this.stream.getTracks()) track.onended = () => this.lost("The phone took the microphone away.");
    const { key, run } = this;
    const row = { key, run, mime: mime ?? "", started_at: new Date().toISOString(), pieces: 0, seconds: 0, known: false };
    await this.kept.put("runs", row);
    await this.untilSound();
    await this.roll(row);
    this.watch = setInterval(() => {
      if (this.at_s - this.to_s > STUCK_S) this.lost("The phone stopped handing on sound.");
    }, 2000);
  }

  /**
   * Wait for the microphone's first sound, a little while at most: some browsers call a recorder started up to two
   * seconds before anything comes in, and what is said then would be missing and every later time be wrong.
   */
  async untilSound() {
    let sounds;
    const first = new Promise((done) => { sounds = done; });
    this.unlisten = await listen(this.stream, (frame) => {
      if (frame.samples.some((each) => each !== 0)) sounds();
      if (this.began !== null && !this.over) this.onframe(frame);
    });
    await Promise.race([first, new Promise((done) => setTimeout(done, SOUND_MS))]);
  }

  /** Wait for the recorder's own word that it runs: only from then on is there sound. */
  async roll(row) {
    const started = new Promise((done, fail) => {
      const failed = () => fail(new Error("The phone could not begin to record; touch again."));
      this.recorder.onstart = done;
      this.recorder.onerror = failed;
      setTimeout(failed, START_MS);
    });
    this.recorder.start(PIECE_MS);
    await started;
    this.recorder.onerror = () => this.lost("The phone broke off recording.");
    this.began = performance.now();
    await this.kept.change("runs", [row.key, row.run], { started_at: new Date().toISOString(), mime: this.recorder.mimeType || row.mime });
  }

  took(data) {
    if (!data.size) return;
    const piece = { key: this.key, run: this.run, number: this.number, from_s: this.to_s, to_s: Math.max(this.at_s, this.to_s) };
    this.number += 1;
    this.to_s = piece.to_s;
    this.keeping = this.keeping.then(() => this.keep(piece, data));
  }

  async keep(piece, data) {
    const bytes = await data.arrayBuffer();
    const sha256 = hex(await crypto.subtle.digest("SHA-256", bytes));
    for (let full = false; ; full = true) {
      try {
        await this.kept.addPiece({ ...piece, bytes, sha256 }, piece.number === 0 ? headerOf(new Uint8Array(bytes)) : null);
        if (full) this.onfull(false);
        break;
      } catch {
        // No room on the phone: hold it here, and try again, since what is sent makes room.
        if (!full) this.onfull(true);
        await new Promise((done) => setTimeout(done, 1000));
      }
    }
    this.onpiece();
  }

  lost(sentence) {
    if (!this.over) this.onlost(sentence);
  }

  /** End it; resolves when the last piece is kept. */
  async stop() {
    if (this.over) return;
    this.over = true;
    clearInterval(this.watch);
    if (this.recorder && this.recorder.state !== "inactive") {
      const stopped = new Promise((done) => { this.recorder.onstop = done; });
      this.recorder.stop();
      // A recorder that is broken may never say that it stopped.
      await Promise.race([stopped, new Promise((done) => setTimeout(done, 3000))]);
    }
    close(this.stream);
    await this.unlisten?.();
    await this.keeping;
    await this.kept.change("runs", [this.key, this.run], { ended_at: new Date().toISOString() });
  }
}
