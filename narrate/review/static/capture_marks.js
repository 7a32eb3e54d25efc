// Commands and answers: kept on the phone as marks, sent on, shown with their undo.

import { button, clock, el, fill } from "./dom.js";
import { canUndo, markWords } from "./capture_words.js";

const SHOWN = 10;

export class Marks {
  /** last, before: list elements. tell(message) to the live helper; onkept() when there is something to send. */
  constructor({ kept, last, before, tell, onkept }) {
    Object.assign(this, { kept, last, before, tell, onkept });
    this.key = null;
    this.rows = [];
  }

  async show(key) {
    this.key = key;
    this.rows = key ? (await this.kept.marks(key)).sort((one, other) => one.made - other.made) : [];
    this.draw();
  }

  /** Keep a command or an answer. `mark` has what, run and at_s; the rest where it is known. */
  async add(mark) {
    if (mark.id && this.rows.some((each) => each.id === mark.id)) return this.enrich(mark);
    const row = { id: crypto.randomUUID(), said: "", undone: false, ...mark, key: this.key, made: Date.now(), sent: false, changed: 0 };
    this.rows.push(row);
    this.draw();
    await this.kept.put("marks", row);
    this.onkept();
    return row;
  }

  /** The live helper tells more of a mark that is kept already, such as what was taken back. */
  async enrich(mark) {
    const row = this.rows.find((each) => each.id === mark.id);
    // When it was touched the phone knows best.
    const { at_s, ...more } = mark;
    await this.change(row, Object.fromEntries(Object.entries(more).filter(([, value]) => value !== null && value !== undefined && value !== "")));
    return row;
  }

  async undo(row) {
    this.tell({ type: "undo", mark: row.id });
    await this.change(row, { undone: true });
  }

  undoLast(what) {
    const row = this.rows.filter((each) => each.what === what && !each.undone).at(-1);
    return row ? this.undo(row) : null;
  }

  async change(row, fields) {
    Object.assign(row, fields, { sent: false, changed: row.changed + 1 });
    this.draw();
    await this.kept.put("marks", row);
    this.onkept();
  }

  draw() {
    const shown = this.rows.filter((each) => canUndo(each)).slice(-SHOWN).reverse();
    fill(this.last, shown.slice(0, 1).map((row) => this.line(row)));
    fill(this.before, shown.slice(1).map((row) => this.line(row)));
    this.before.parentElement.hidden = shown.length < 2;
  }

  line(row) {
    return el("li", { class: row.undone ? "undone" : null },
      el("span", {}, `${clock(row.at_s)} `, markWords(row), row.undone ? " (undone)" : ""),
      row.undone ? null : button("Undo", () => this.undo(row), { "aria-label": `Undo: ${markWords(row)}` }),
    );
  }
}
