// The other recordings of this phone: what became of them, and what can be done with those that were not ended.

import { button, clock, el, fill } from "./dom.js";
import { playable } from "./capture_left.js";
import { stateWords, waitingWords } from "./capture_words.js";

const KEPT_MS = 24 * 60 * 60 * 1000;

export class Shelf {
  /** actions: {goOn(capture), end(capture)}. */
  constructor({ kept, actions }) {
    Object.assign(this, { kept, actions });
    this.drawn = "";
  }

  /** Leave out what the shop's computer finished a day ago. */
  async tidy() {
    for (const { key, state, ended } of await this.kept.captures()) {
      const over = state === "done" && ended && Date.now() - ended > KEPT_MS;
      if (over && !(await this.kept.waiting(key)).pieces) await this.kept.forget(key);
    }
  }

  /** List all but the one in hand. `busy`: while recording nothing else can be gone on with. */
  async show(inHand, busy) {
    const rows = [];
    for (const capture of (await this.kept.captures()).reverse()) {
      if (capture.key !== inHand) rows.push({ capture, waiting: await this.kept.waiting(capture.key), runs: await this.kept.runs(capture.key) });
    }
    // Drawn anew only when something changed, so that a finger on a button is not robbed of it.
    const now = JSON.stringify([rows, busy]);
    if (now === this.drawn) return;
    this.drawn = now;
    document.getElementById("kept").hidden = !rows.length;
    fill(document.getElementById("kept-list"), rows.map((each) => this.row(each, busy)));
  }

  row({ capture, waiting, runs }, busy) {
    const length = clock(runs.reduce((sum, each) => sum + each.seconds, 0));
    const [word] = capture.ended ? stateWords(capture.state === "open" ? "sending" : capture.state) : ["Not ended"];
    return el("li", {},
      el("p", {}, `${when(capture.started_at)}, ${length}${capture.about ? `, ${capture.about}` : ""}: `, el("strong", { text: word }),
        waiting.pieces || waiting.photos ? ` (${waitingWords(waiting)})` : ""),
      capture.why ? el("p", { class: "error", text: capture.why }) : null,
      el("p", { class: "row" },
        !capture.ended && !busy ? [button("Go on with it", () => this.actions.goOn(capture)), button("Done: make the list", () => this.actions.end(capture))] : null,
        capture.walkaround ? el("a", { class: "button", href: `/walkarounds/${capture.walkaround}`, text: "Open the list" }) : null,
        // The last resort: what the shop's computer does not take can be carried there by hand.
        waiting.pieces && (capture.state === "lacking" || capture.why) ? button("Save what is left as files", () => this.save(capture)) : null),
    );
  }

  async save({ key }) {
    const pieces = await this.kept.pieces(key);
    for (const run of new Set(pieces.map((each) => each.run))) {
      const { mime, header } = (await this.kept.runs(key)).find((each) => each.run === run);
      const bytes = pieces.filter((each) => each.run === run).map((each) => new Uint8Array(each.bytes));
      const whole = header && pieces.find((each) => each.run === run).number ? playable(new Uint8Array(header), bytes) : null;
      const parts = whole ? [whole] : bytes;
      const link = el("a", { href: URL.createObjectURL(new Blob(parts, { type: mime })), download: `${key}-${run}.${mime.includes("mp4") ? "mp4" : "webm"}` });
      link.click();
    }
  }
}

function when(iso) {
  const time = new Date(iso);
  const today = time.toDateString() === new Date().toDateString();
  return time.toLocaleString([], today ? { timeStyle: "short" } : { dateStyle: "medium", timeStyle: "short" });
}
