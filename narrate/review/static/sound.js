// Hearing the very moment something was said.

const BEFORE_S = 0.4;
const AFTER_S = 0.5;

/** Plays stretches of recordings one after the other through one audio element. */
export class Sound {
  constructor(audio, onchange) {
    this.audio = audio;
    this.onchange = onchange;
    this.waiting = [];
    this.until = null;
    audio.addEventListener("timeupdate", () => this.watch());
    for (const event of ["play", "pause", "ended"]) audio.addEventListener(event, () => onchange(!audio.paused));
  }

  get playing() {
    return !this.audio.paused;
  }

  /** stretches: [{sha256, start_s, end_s}]; an end of null plays on. */
  async play(stretches) {
    this.waiting = stretches.filter((each) => each.sha256 && each.start_s !== null);
    await this.next();
  }

  async next() {
    const stretch = this.waiting.shift();
    if (!stretch) return this.stop();
    const source = `/audio/${stretch.sha256}`;
    if (!this.audio.src.endsWith(source)) this.audio.src = source;
    this.audio.currentTime = Math.max(0, stretch.start_s - BEFORE_S);
    this.until = stretch.end_s === null ? null : stretch.end_s + AFTER_S;
    try {
      await this.audio.play();
    } catch (error) {
      // Another stretch was asked for before this one began: nothing is wrong.
      if (error.name === "AbortError") return;
      this.stop();
      throw new Error("This recording cannot be played here; its words and findings are not touched by that.");
    }
  }

  stop() {
    this.waiting = [];
    this.until = null;
    this.audio.pause();
  }

  watch() {
    if (this.until === null || this.audio.currentTime < this.until) return;
    this.until = null;
    this.next().catch(() => this.stop());
  }
}
