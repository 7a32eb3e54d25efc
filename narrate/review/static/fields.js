// The fields of a finding: how each is shown, which key opens it, and the editor that changes it.

import { button, el, fill } from "./dom.js";
import { parseNumbers } from "./numbers.js";
import { picker } from "./picker.js";
import { placesEditor } from "./places.js";

const STATUSES = [
  ["f", "fault", "needs attention"],
  ["o", "ok", "looked at and fine"],
  ["u", "unclear", "looked at, not settled"],
  ["n", "unchecked", "not looked at"],
  ["w", "work", "work to be done, no fault of its own"],
];
const OPTIONS = ["new", "used", "rebuilt", "reconditioned", "original_maker", "other_maker"];
const CERTAINTIES = ["stated", "suspected", "starting"];
const CERTAIN = { stated: "", suspected: " (suspected)", starting: " (just starting)" };
const WHEN = [
  ["", "nobody said"],
  ["before_driving", "before it is driven again"],
  ["this_visit", "on this visit"],
  ["by_date_or_distance", "by a date or distance"],
  ["no_hurry", "no hurry"],
];

/** The main fields, each with its key; `change(finding, page)` gives an editor. */
export const FIELDS = [
  { key: "c", name: "component", label: "Component", show: (f) => f.component.name, doubt: "component", change: componentEditor },
  { key: "p", name: "locations", label: "Place", show: (f) => f.said.places, doubt: "location", change: locationsEditor },
  { key: "s", name: "status", label: "Status", show: (f) => f.said.status, doubt: "status", change: statusEditor },
  { key: "w", name: "conditions", label: "What is wrong", show: (f) => f.conditions.map((c) => c.text).join(", "), doubt: "condition", change: conditionsEditor },
  { key: "r", name: "recommendation", label: "Recommended", show: (f) => f.said.recommendation, doubt: "recommendation", change: recommendationEditor },
  { key: "n", name: "measurements", label: "Numbers", show: (f) => f.measurements.map((m) => [m.text, m.broken && `(${m.broken})`].filter(Boolean).join(" ")).join(", "), doubt: "measurement", change: numbersEditor },
];

/** What is rarer: shown when there is something to show, or when asked for. */
export const MORE = [
  { key: "a", name: "answers", label: "Answers the concern", show: (f) => f.answers.map((a) => a.text + (a.link === "suggested" ? " (suggested)" : "")).join("; "), change: answersEditor },
  { name: "urgency", label: "How soon", show: (f) => f.said.urgency, change: urgencyEditor },
  { name: "reason", label: "Why", show: (f) => f.reason ?? "", change: (f, page) => wordsEditor("reason", f, page) },
  { name: "consequence", label: "What may follow", show: (f) => f.consequence ?? "", change: (f, page) => wordsEditor("consequence", f, page) },
  { name: "position", label: "Which one", show: (f) => f.position ?? "", change: (f, page) => wordsEditor("position", f, page) },
  { name: "tests", label: "How it was tested", show: (f) => f.tests.join("; "), change: (f, page) => listEditor("tests", ";", f, page) },
  { name: "codes", label: "Trouble codes", show: (f) => f.codes.join(", "), change: (f, page) => listEditor("codes", ",", f, page) },
  { name: "part_options", label: "Part", show: (f) => f.said.options.join(", "), change: optionsEditor },
  { name: "prices", label: "Price said", show: (f) => f.prices.map((p) => p.text).join(", "), change: pricesEditor },
];

function componentEditor(finding, page) {
  const instead = finding.doubts.filter((d) => d.field === "component").flatMap((d) => d.instead);
  const editor = picker({
    sort: "component", market: page.view.market, label: "Component", cancel: page.leave,
    first: page.known.filter((each) => instead.includes(each.name) && each.id !== finding.component.id),
    heard: page.nearby().then((near) => near.components),
    pick: (match, next) => page.ask({ do: "component", finding: finding.id, to: match.id, seen: finding.component.id }, { next }),
  });
  return editor;
}

function locationsEditor(finding, page) {
  return placesEditor(finding.locations, (to, next) => page.ask({ do: "locations", finding: finding.id, to, seen: finding.locations }, { next }), page.leave, page.nearby().then((near) => near.places));
}

function statusEditor(finding, page) {
  const choose = (to, next = false) => page.ask({ do: "status", finding: finding.id, to, seen: finding.status }, { next });
  return keyed(
    STATUSES.map(([key, to]) => [key, (next) => choose(to, next)]), page,
    STATUSES.map(([key, to, text]) => button(text, () => choose(to), { key, "aria-pressed": String(to === finding.status) })),
  );
}

/** An editor that is only buttons with keys; with Shift held an action is given true: the next thing is to come. */
function keyed(actions, page, ...children) {
  const editor = el("div", {
    class: "editor", tabindex: "-1",
    onkeydown: (event) => {
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      // Enter on a button presses that button.
      if (event.key === "Enter" && event.target instanceof HTMLButtonElement) return event.stopPropagation();
      const action = actions.find(([key]) => key.toLowerCase() === event.key.toLowerCase());
      if (action) action[1](event.shiftKey);
      else if (event.key === "Escape") page.leave();
      else return;
      event.preventDefault();
      event.stopPropagation();
    },
  }, el("div", { class: "row" }, ...children, button("Leave", page.leave, { key: "Esc" })));
  editor.focused = editor;
  return editor;
}

/** Buttons that keep what an editor holds, and that keep it and go on. */
export function keepButtons(keep) {
  return [button("Keep", () => keep(false), { key: "Enter", main: true }), button("Keep, next", () => keep(true), { key: "Shift+Enter" })];
}

function conditionsEditor(finding, page) {
  let chosen = finding.conditions.map(({ id, name, certainty }) => ({ id, name, certainty }));
  const chips = el("div", { class: "row chips" });
  const keep = (next = false) => page.ask({ do: "conditions", finding: finding.id, to: chosen.map(({ id, certainty }) => ({ id, certainty })), seen: finding.conditions.map((c) => c.id) }, { next });
  const editor = picker({
    sort: "condition", market: page.view.market, label: "What is wrong", cancel: page.leave, empty: keep,
    back: () => { chosen = chosen.slice(0, -1); show(); },
    heard: page.nearby().then((near) => near.conditions.filter((each) => !finding.conditions.some((c) => c.id === each.id))),
    // What was heard stands for what was taken from it, and is kept at once; what is typed is added.
    take: (match, next) => { chosen = [{ ...match, certainty: "stated" }]; keep(next); },
    pick: (match) => { if (!chosen.some((c) => c.id === match.id)) chosen = [...chosen, { ...match, certainty: "stated" }]; show(); },
    extra: keepButtons(keep),
  });
  function show() {
    fill(chips, chosen.map((condition) => el("span", { class: "row" },
      button(condition.name + CERTAIN[condition.certainty], () => {
        condition.certainty = CERTAINTIES[(CERTAINTIES.indexOf(condition.certainty) + 1) % CERTAINTIES.length];
        show();
      }, { title: "Press to say whether it is stated, suspected or just starting" }),
      button("take away", () => { chosen = chosen.filter((c) => c !== condition); show(); editor.focused.focus(); }, { "aria-label": `take away ${condition.name}` }))),
    chosen.length ? null : el("span", { class: "soft", text: "nothing; type a few letters, then Enter" }));
  }
  show();
  editor.prepend(chips);
  return editor;
}

function recommendationEditor(finding, page) {
  const had = finding.recommendation;
  const send = (action, next = false) => page.ask({
    do: "recommendation", finding: finding.id, seen: had.action,
    to: { action, otherwise: action === null ? [] : had.otherwise.filter((each) => each !== action), timing: timing.value.trim() || null, conditional_on: had.conditional_on, optional: optional.checked },
  }, { next });
  const timing = el("input", { type: "text", value: had.timing ?? "", "aria-label": "When, in words", placeholder: "when, in words", onkeydown: (e) => { e.stopPropagation(); if (e.key === "Enter") send(had.action); else if (e.key === "Escape") page.leave(); } });
  const optional = el("input", { type: "checkbox", checked: had.optional });
  const editor = picker({
    sort: "action", market: page.view.market, label: "Recommended", cancel: page.leave,
    heard: page.nearby().then((near) => near.actions.filter((each) => each.id !== had.action)),
    pick: (match, next) => send(match.id, next), empty: (next) => send(had.action, next),
    back: () => send(null),
    extra: [timing, el("label", { class: "inline" }, optional, "optional"), button("nothing", () => send(null), { key: "⌫" }), keepButtons((next) => send(had.action, next))],
  });
  return editor;
}

/** One line of text: Enter keeps, Escape leaves; `send` may throw a sentence. `heard`: a promise of lines to step to. */
function lineEditor(label, value, page, send, hint = "", heard = Promise.resolve([])) {
  let offers = [];
  let at = -1;
  let stepping = Promise.resolve();
  const list = el("ul", { class: "matches", "aria-label": "Heard here" });
  const offered = heard.then((lines) => { offers = lines; show(); }, () => {});
  const show = () => fill(list, offers.map((line, n) => el("li", { "aria-current": n === at ? "true" : null, onclick: () => choose(n) }, line, n === 0 && at < 0 ? el("kbd", { text: "↓" }) : null)));
  function choose(n) {
    at = Math.max(0, Math.min(n, offers.length - 1));
    if (offers[at] !== undefined) input.value = offers[at];
    show();
    input.focus();
  }
  const wrong = el("p", { class: "error", role: "alert", hidden: true });
  const input = el("input", {
    type: "text", value, "aria-label": label, autocomplete: "off", placeholder: hint,
    onkeydown: (event) => {
      event.stopPropagation();
      if (event.key === "Enter") { event.preventDefault(); stepping.then(() => keep(event.shiftKey)); } else if (event.key === "Escape") page.leave();
      else if (event.key === "ArrowDown" || event.key === "ArrowUp") {
        event.preventDefault();
        const by = event.key === "ArrowDown" ? 1 : -1;
        stepping = offered.then(() => choose(at + by));
      }
    },
  });
  function keep(next = false) {
    try {
      send(input.value.trim(), next);
    } catch (error) {
      wrong.textContent = error.message;
      wrong.hidden = false;
    }
  }
  const editor = el("div", { class: "editor" }, input, list, wrong, el("div", { class: "row" }, keepButtons(keep), button("Leave", page.leave, { key: "Esc" })));
  editor.focused = input;
  return editor;
}

/** A number as the line of numbers shows it, and as it can be typed. */
function numberText(m) {
  return [m.about ? "about" : "", m.high ? `${m.value}-${m.high}` : m.value + (m.unit === "1/32in" ? "/32" : ""), m.unit === "1/32in" ? "" : m.unit, m.location ?? ""].filter(Boolean).join(" ");
}

/** Lines of numbers that may be right instead: one of several alone, one that was heard besides, or in their place. */
export function numberLines(present, heard) {
  const here = present.map(numberText);
  const besides = heard.filter((each) => !present.some((m) => m.value === each.value && m.unit === each.unit)).map(numberText);
  const alone = here.length > 1 ? here : [];
  const more = here.length ? besides.slice(0, 2).map((each) => [...here, each].join(", ")) : [];
  const pairs = !here.length && besides.length > 1 ? [besides.slice(0, 2).join(", ")] : [];
  return [...new Set([...alone, ...more, ...besides.slice(0, 3), ...pairs])].slice(0, 6);
}

function numbersEditor(finding, page) {
  const shown = finding.measurements.map(numberText).join(", ");
  return lineEditor("Numbers", shown, page, (text, next) => {
    const kept = Object.fromEntries(finding.measurements.map((m) => [m.unit, m.quantity]));
    const to = parseNumbers(text, page.units).map((each) => ({ ...each, quantity: kept[each.unit] ?? null }));
    page.ask({ do: "measurements", finding: finding.id, to, seen: finding.measurements.map((m) => m.value) }, { next });
  }, "3 mm front left, 3.5 mm front right", page.nearby().then((near) => numberLines(finding.measurements, near.numbers)));
}

function wordsEditor(field, finding, page) {
  const label = MORE.find((each) => each.name === field).label;
  return lineEditor(label, finding[field] ?? "", page, (text, next) => page.ask({ do: "words", finding: finding.id, field, to: text || null, seen: finding[field] }, { next }));
}

function listEditor(field, separator, finding, page) {
  const label = MORE.find((each) => each.name === field).label;
  const split = (text) => text.split(separator).map((each) => each.trim()).filter(Boolean);
  return lineEditor(label, finding[field].join(`${separator} `), page, (text, next) => page.ask({ do: "lists", finding: finding.id, field, to: split(text), seen: finding[field] }, { next }), `several with “${separator}” between`);
}

function pricesEditor(finding, page) {
  const shown = finding.prices.map((p) => [p.amount, p.currency, p.for].filter(Boolean).join(" ")).join(", ");
  return lineEditor("Price said", shown, page, (text, next) => {
    const to = text.split(",").map((each) => each.trim()).filter(Boolean).map((each) => {
      const shape = /^(\d+(?:\.\d+)?)\s*([A-Za-z]{3})\s*(.*)$/.exec(each);
      if (!shape) throw new Error(`“${each}” is no price; type it as in 140 USD rebuilt.`);
      return { amount: shape[1], currency: shape[2].toUpperCase(), for: shape[3] };
    });
    page.ask({ do: "prices", finding: finding.id, to, seen: finding.prices.map((p) => p.amount) }, { next });
  }, "140 USD rebuilt, 210 USD new");
}

function optionsEditor(finding, page) {
  const boxes = OPTIONS.map((option) => el("input", { type: "checkbox", value: option, checked: finding.part_options.includes(option) }));
  const keep = () => page.ask({ do: "lists", finding: finding.id, field: "part_options", to: boxes.filter((b) => b.checked).map((b) => b.value), seen: finding.part_options });
  return keyed([["Enter", keep]], page, boxes.map((box) => el("label", { class: "inline" }, box, box.value.replace("_", " "))), button("Keep", keep, { key: "Enter", main: true }));
}

function answersEditor(finding, page) {
  const concerns = page.view.concerns;
  const had = finding.answers.map((a) => a.concern);
  const suggested = finding.answers.filter((a) => a.link === "suggested").map((a) => a.concern);
  const boxes = concerns.map((c) => el("input", { type: "checkbox", value: c.id, checked: had.includes(c.id) && !suggested.includes(c.id) }));
  const keep = () => {
    const to = boxes.filter((b) => b.checked).map((b) => b.value);
    page.ask({ do: "answers", finding: finding.id, to, suggested: suggested.filter((each) => !to.includes(each)), seen: had });
  };
  const digits = boxes.map((box, place) => [String(place + 1), () => { box.checked = !box.checked; }]);
  return keyed([["Enter", keep], ...digits], page,
    concerns.length ? concerns.map((c, place) => el("label", { class: "inline" }, boxes[place], `${c.text} `, el("kbd", { text: String(place + 1) }))) : el("p", { class: "soft", text: "The customer has no concern on this order." }),
    button("Keep", keep, { key: "Enter", main: true }));
}

function urgencyEditor(finding, page) {
  const had = finding.urgency;
  const select = el("select", { "aria-label": "How soon" }, WHEN.map(([value, text]) => el("option", { value, selected: (had?.when ?? "") === value, text })));
  const by = el("input", { type: "text", value: had?.by ?? "", "aria-label": "By when", placeholder: "by when, in words" });
  const why = el("input", { type: "text", value: had?.why ?? "", "aria-label": "Why", placeholder: "why" });
  const keep = () => page.ask({ do: "urgency", finding: finding.id, seen: had?.when ?? null, to: select.value ? { when: select.value, by: by.value.trim() || null, why: why.value.trim() || null } : null });
  for (const input of [select, by, why]) {
    input.addEventListener("keydown", (event) => {
      event.stopPropagation();
      if (event.key === "Enter") { event.preventDefault(); keep(); } else if (event.key === "Escape") page.leave();
    });
  }
  const editor = el("div", { class: "editor" }, select, by, why, el("div", { class: "row" }, button("Keep", keep, { key: "Enter", main: true }), button("Leave", page.leave, { key: "Esc" })));
  editor.focused = select;
  return editor;
}
