// What the pages of a walk-round and of an estimate have in common: one thing in hand, changes one after the other,
// editors that open in it, undo, the key sheet, and keys that wait for what is on its way.

import { button, refill } from "./dom.js";
import { keySheet, typing } from "./keys.js";

export class OneInHand {
  constructor(id) {
    this.id = id;
    this.hand = { kind: "done" };
    this.open = null;
    this.sending = Promise.resolve();
    this.busy = 0;
    this.pressed = 0;
    this.keysInTurn = Promise.resolve();
    this.leave = () => this.close();
  }

  // What a page has of its own: panel() draws what is in hand, sheetRows() are its keys, and lookAgain(error) loads it
  // anew where someone else was first.

  /** Send one change; then show what came of it. */
  ask(asked, options = {}) { return this.inTurn(() => this.send(asked, options)); }

  /** What changes the record goes one after the other, and keys pressed meanwhile wait for what came of it. */
  inTurn(work) {
    this.busy += 1;
    this.sending = this.sending.then(() => this.guard(work)).finally(() => { this.busy -= 1; });
    return this.sending;
  }

  taken(answer) {
    this.view = answer.view;
    this.undoable = answer.undo;
    this.redoable = answer.redo;
    this.tell(answer.note ?? "");
  }

  /** Run what may be refused; a refusal is shown, and the page is loaded anew where someone else changed it. */
  async guard(work) {
    try {
      await work();
    } catch (error) {
      this.tell(error.message, true);
      if (error.status === 409) await this.lookAgain(error);
    }
  }

  editor(make) {
    const editor = make();
    this.focusOn = editor.focused ?? editor;
    return editor;
  }

  renderHand(focus = false) {
    if (!this.view) return;
    const place = document.querySelector("#hand");
    const inside = place.contains(document.activeElement);
    if (this.open && !focus && place.querySelector(".editor")) return;
    this.focusOn = null;
    refill(place, this.panel());
    if (this.open && this.focusOn) this.focusOn.focus();
    else if (inside && !place.contains(document.activeElement)) this.home();
  }

  /** Where the keys work from when nothing is open; brought into view where the list lies under it. */
  home() {
    const place = document.querySelector("#hand");
    place.focus({ preventScroll: true });
    const { top } = place.getBoundingClientRect();
    if (top < 0 || top > window.innerHeight * 0.75) place.scrollIntoView({ block: "start" });
  }

  renderUndo() {
    const told = (event) => (event ? `${event.what} by ${event.who}` : "");
    refill(document.querySelector("#undo"),
      button("Undo", () => this.back("undo"), { key: "u", disabled: !this.undoable, title: told(this.undoable) || "nothing to undo" }),
      button("Do again", () => this.back("redo"), { key: "Shift+U", disabled: !this.redoable, title: told(this.redoable) || "nothing to do again" }),
      button("Keys", () => this.sheet(), { key: "?" }));
  }

  sheet() {
    this.keys ??= keySheet(this.sheetRows());
    if (this.keys.open) this.keys.close();
    else {
      this.keys.showModal();
      this.keys.scrollTop = 0;
    }
  }

  tell(text, wrong = false) {
    const place = document.querySelector("#told");
    place.textContent = text;
    place.className = wrong ? "error" : "notice";
    place.hidden = !text;
  }
}

/** Let keys act on a page, as `actionFor(event, page)` says; those pressed while a change is on its way wait for it. */
export function listenToKeys(page, actionFor) {
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && page.open && !event.defaultPrevented && !event.target.closest?.("dialog")) return page.close();
    if (typing(event) || event.defaultPrevented || !page.view) return;
    const undoKey = (event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z";
    if (undoKey) {
      event.preventDefault();
      return page.back(event.shiftKey ? "redo" : "undo");
    }
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const action = actionFor(event, page);
    if (!action) return;
    event.preventDefault();
    if (!page.busy && !page.pressed) return action();
    page.pressed += 1;
    page.keysInTurn = page.keysInTurn.then(() => page.sending).then(() => {
      page.pressed -= 1;
      if (!page.open) actionFor(event, page)?.();
    });
  });
}

/** Show what an address names when it is changed by hand, or by going back. */
export function followAddress(page) {
  window.addEventListener("hashchange", () => {
    const hand = page.view && page.fromAddress();
    if (hand) page.take(hand);
  });
}
