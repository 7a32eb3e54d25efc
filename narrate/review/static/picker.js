// Picking from the lexicon by a few letters: components, conditions, actions.

import { get } from "./api.js";
import { button, el, fill } from "./dom.js";

const WAIT_MS = 60;

/** So many are offered by a digit. */
const DIGITS = 9;

/**
 * A field with a list under it. `first`: offered by a digit each before anything is typed, as [{id, name, by}]; `heard`:
 * a promise of more of them. `pick(match, next)` takes one, `take(match, next)`, if given, one that was offered; next:
 * Shift was held, to go on when it is kept. `empty(next)`, if given, is what Enter does with nothing typed; `back()` what
 * Backspace does then.
 */
export function picker({ sort, market, label, first = [], heard = null, pick, take = pick, cancel, empty = null, back = null, extra = [] }) {
  let matches = first;
  let at = 0;
  let chosen = false;
  let asked = 0;
  let searching = Promise.resolve();
  let timer = null;
  const list = el("ul", { class: "matches", role: "listbox", id: `matches-${sort}`, "aria-label": label });
  const input = el("input", {
    type: "text", role: "combobox", "aria-expanded": "true", "aria-controls": `matches-${sort}`, "aria-label": label,
    autocomplete: "off", autocapitalize: "off", spellcheck: "false", placeholder: "type a few letters",
    oninput: () => { clearTimeout(timer); timer = setTimeout(start, WAIT_MS); },
    onkeydown: (event) => key(event),
  });
  const editor = el("div", { class: "editor" }, input, list, el("div", { class: "row" }, extra, button("Leave", cancel, { key: "Esc" })));

  const offered = (heard ?? Promise.resolve([])).then((more) => {
    first = [...first, ...more.filter((each) => !first.some((one) => one.id === each.id))].slice(0, DIGITS);
    if (input.value) return;
    matches = first;
    show();
  }, () => {});

  /** A digit takes what is offered under it; where nothing is, it is a letter like any other. */
  let held = "";
  async function digit(key, next) {
    held += key;
    await offered;
    const typed = held;
    held = "";
    if (!typed || !editor.isConnected) return;
    const match = typed.length === 1 && !input.value && first[Number(typed) - 1];
    if (match) return takeOne(match, take, next);
    input.value = typed + input.value;
    start();
  }

  function start() {
    timer = null;
    searching = search();
  }

  async function search() {
    const typed = input.value.trim();
    const mine = ++asked;
    let found = first;
    try {
      if (typed) found = await get(`/api/names/${sort}?market=${market}&q=${encodeURIComponent(typed)}`);
    } catch (error) {
      return fill(list, el("li", { role: "option", "aria-disabled": "true", text: error.message }));
    }
    // A slow answer to fewer letters must not replace the answer to more.
    if (mine !== asked) return;
    matches = found;
    at = 0;
    show();
  }

  async function key(event) {
    // With Shift a digit is another sign, and the key still the same.
    const number = /^[1-9]$/.test(event.key) ? event.key : event.shiftKey ? /^Digit([1-9])$/.exec(event.code)?.[1] : null;
    if (number && !input.value && !event.ctrlKey && !event.metaKey && !event.altKey) digit(number, event.shiftKey && number !== event.key);
    else if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      // It moves in the list of what was typed, however fast that was.
      if (timer !== null) { clearTimeout(timer); start(); }
      searching.then(() => {
        chosen = true;
        at = Math.min(Math.max(0, at + (event.key === "ArrowDown" ? 1 : -1)), Math.max(0, matches.length - 1));
        show();
      });
    } else if (event.key === "Enter") {
      event.preventDefault();
      event.stopPropagation();
      if (timer !== null) { clearTimeout(timer); start(); }
      // What Enter takes is what was typed, not what an earlier answer offered.
      await searching;
      const next = event.shiftKey;
      if (input.value.trim()) { if (matches[at]) takeOne(matches[at], pick, next); }
      else if (empty && !chosen) empty(next);
      else if (matches[at]) takeOne(matches[at], take, next);
      return;
    } else if (event.key === "Escape") cancel();
    else if (event.key === "Backspace" && !input.value && back) back();
    else { event.stopPropagation(); return; }
    event.preventDefault();
    event.stopPropagation();
  }

  function takeOne(match, how, next = false) {
    input.value = "";
    matches = first;
    at = 0;
    chosen = false;
    asked += 1;
    how(match, next);
    if (editor.isConnected) { show(); input.focus(); }
  }

  function show() {
    const typed = Boolean(input.value.trim());
    fill(list, matches.map((match, place) =>
      el("li", { role: "option", id: `match-${sort}-${place}`, "aria-selected": String(place === at), onclick: () => takeOne(match, typed ? pick : take) },
        match.name, match.by && el("small", { class: "soft", text: ` said “${match.by}”` }), typed ? null : el("kbd", { text: String(place + 1) }))));
    if (input.value.trim() && !matches.length) fill(list, el("li", { class: "soft", text: "Nothing in the lexicon is called so." }));
    input.setAttribute("aria-activedescendant", matches.length ? `match-${sort}-${at}` : "");
    list.children[at]?.scrollIntoView({ block: "nearest" });
  }

  show();
  editor.focused = input;
  return editor;
}
