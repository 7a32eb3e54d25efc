// Which key does what. One table: what it says is what the key sheet shows.

import { el } from "./dom.js";
import { FIELDS, MORE } from "./fields.js";

export const KEYS = [
  ["Enter", "right, and on to the next"],
  ["Shift+Enter", "confirm all sure ones"],
  ["Space", "listen, or stop"],
  ["↓ ↑", "the next, the one before"],
  ...FIELDS.map((field) => [field.key, field.label.toLowerCase()]),
  ...MORE.filter((field) => field.key).map((field) => [field.key, field.label.toLowerCase()]),
  ["m", "more fields, photos and words"],
  ["x", "no finding (or take it back in)"],
  ["y", "no finding, or settled, with a reason"],
  ["1 … 9", "what is offered under the number"],
  ["Shift", "with the key that keeps a change: and on to the next"],
  ["d", "divide in two"],
  ["g", "same as another finding"],
  ["i", "add a finding"],
  ["t", "make a finding of what is in hand"],
  ["o", "nothing in it, or not looked at"],
  ["Shift+O", "nothing in any stretch not understood"],
  ["j", "settle it"],
  ["e", "correct the words"],
  ["v", "everything that was said"],
  ["u", "undo"],
  ["Shift+U", "do it again"],
  ["Shift+S", "sign the list"],
  ["/", "find another walk-round"],
  ["?", "this sheet"],
];

/** The sheet of all keys, as a dialog that Escape closes. */
export function keySheet(keys) {
  const sheet = el("dialog", { class: "sheet", "aria-label": "Keys" },
    el("h2", { text: "Keys" }),
    el("dl", {}, keys.map(([key, what]) => [el("dt", {}, el("kbd", { text: key })), el("dd", { text: what })])),
    el("form", { method: "dialog" }, el("button", { class: "main" }, "Close")));
  document.body.append(sheet);
  return sheet;
}

/** Whether a key press belongs to a field in which someone types. */
export function typing(event) {
  return event.target instanceof HTMLElement && Boolean(event.target.closest("input, textarea, select, dialog"));
}
