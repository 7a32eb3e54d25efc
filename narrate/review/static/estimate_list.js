// The list beside: what has no price yet, the jobs, and what it all comes to.

import { el } from "./dom.js";

/** Everything that can be taken in hand. */
export function list(page) {
  const { view } = page;
  const needed = view.jobs.filter((each) => !each.optional);
  const optional = view.jobs.filter((each) => each.optional);
  return [
    group("To be priced", view.to_be_priced.map((each) => item(page, { kind: "price", id: each.id }, "?", each.title, "no price yet"))),
    group("Jobs", needed.map((each) => job(page, each))),
    group("Optional, with the work above", optional.map((each) => job(page, each))),
    before(page),
  ];
}

function group(name, items) {
  return items.length ? [el("h2", { text: name }), el("ul", { class: "list" }, items.map((each) => el("li", {}, each)))] : null;
}

function job(page, each) {
  const state = each.state === "offered" ? "" : each.state_said;
  return item(page, { kind: "job", id: each.id }, String(each.number), each.title, [each.amount, state].filter(Boolean).join(", "), each.state === "declined");
}

function item(page, hand, mark, title, side, struck = false) {
  const here = page.hand.kind === hand.kind && page.hand.id === hand.id;
  return el("button", { type: "button", class: "item", "aria-current": here ? "true" : null, "data-name": `${hand.kind} ${hand.id}`, onclick: () => page.take(hand) },
    el("span", { class: "mark", text: mark }), el("span", { class: struck ? "what struck" : "what", text: title }), el("span", { class: "side", text: side }));
}

/** The sums, as they stand on the customer's copy. */
export function sums(page) {
  const { view } = page;
  return el("table", { class: "sums" },
    el("caption", { text: "What it comes to" }),
    el("tbody", {}, view.sums.map((row) => el("tr", { class: row.whole ? "whole" : null }, el("th", { scope: "row", text: row.name }), el("td", { class: "number", text: row.amount })))));
}

/** What was declined or to be watched at an earlier visit. */
function before(page) {
  if (!page.before.length) return null;
  return [el("h2", { text: "Declined or to be watched before" }), el("ul", { class: "list" }, page.before.map((each) => el("li", { class: "told" }, each.text, each.link ? [" ", el("a", { href: each.link, text: each.link_text })] : null)))];
}
