// Live words and findings, clearly not the final list. A new finding lights up by weight and outline, not by colour.

import { clock, el, fill } from "./dom.js";

const STATUS = { fault: "needs something", ok: "fine", unclear: "not settled", unchecked: "not looked at", work: "to be done" };
const LIT_MS = 5000;
const SHOWN = 8;

export class Found {
  constructor({ words, findings, state }) {
    this.places = { words, findings, state };
    this.clear();
  }

  clear() {
    this.rows = new Map();
    this.concerns = [];
    this.sure = "";
    fill(this.places.words);
    fill(this.places.findings);
    fill(this.places.state);
  }

  /** Words so far of a phrase; those of the one that is being spoken are in italics. */
  words({ text, final }) {
    fill(this.places.words, final ? null : el("em", { text }), final ? text : null);
  }

  /** The findings of this moment; returns the ids that are new. */
  findings({ findings, concerns_open = [] }) {
    const fresh = findings.filter((each) => !this.rows.has(each.id)).map((each) => each.id);
    const until = Date.now() + LIT_MS;
    for (const each of findings) {
      const before = this.rows.get(each.id);
      const changed = before && (before.line !== each.line || before.taken_back !== each.taken_back);
      this.rows.set(each.id, { ...each, lit: !before || changed ? until : before.lit });
    }
    const now = new Set(findings.map((each) => each.id));
    for (const id of this.rows.keys()) if (!now.has(id)) this.rows.delete(id);
    this.concerns = concerns_open;
    this.draw();
    if (fresh.length) setTimeout(() => this.draw(), LIT_MS + 50);
    return fresh;
  }

  /** The last finding that was not taken back, or null. */
  get last() {
    return [...this.rows.values()].filter((each) => !each.taken_back).at(-1) ?? null;
  }

  draw() {
    const rows = [...this.rows.values()].reverse();
    fill(this.places.findings, rows.slice(0, SHOWN).map((each) => el("li",
      { class: [each.taken_back ? "undone" : "", each.lit > Date.now() ? "lit" : ""].join(" ").trim() || null },
      el("span", { class: "line", text: each.line }),
      el("small", {}, each.taken_back ? "taken back" : STATUS[each.status] ?? each.status, ` · ${clock(each.start_s)}`),
    )), rows.length > SHOWN ? el("li", { class: "soft", text: `and ${rows.length - SHOWN} more before` }) : null);
  }

  state(sentence) {
    this.places.state.textContent = sentence;
  }
}
