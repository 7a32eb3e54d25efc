// The thing in hand: work without a price, one job, the customer's answer, or the whole once all is priced.

import { answerPanel } from "./estimate_answer.js";
import { addLineEditor, lineEditor, outcomeEditor, payerEditor, priceEditor, removeJobEditor, removeLineEditor } from "./estimate_editors.js";
import { choose, move } from "./estimate_keys.js";
import { wholePanel } from "./estimate_whole.js";
import { button, el } from "./dom.js";

export function panel(hand, page) {
  const make = { price: pricePanel, job: jobPanel, answer: answerPanel, done: wholePanel }[hand.kind];
  return make(page);
}

function found(thing, page) {
  return thing.found.map((each) => el("p", { class: "quote" }, each.text, " ", el("a", { href: `/walkarounds/${page.view.walkaround}#${encodeURIComponent(`finding ${each.id}`)}`, text: "hear it" })));
}

function pricePanel(page) {
  const thing = page.view.to_be_priced.find((each) => each.id === page.hand.id);
  if (!thing) return gone(page);
  return [
    el("p", { class: "soft", text: "To be priced; it is in no sum until then" }),
    el("h2", { class: "sentence", id: "in-hand", text: thing.title }),
    found(thing, page),
    el("p", {}, thing.why),
    el("div", { class: "row actions" }, page.open === "price" ? null : button("Price it", () => page.edit("price"), { key: "p", main: true }), button("Next", () => page.step(1), { key: "Enter" })),
    page.open === "price" ? priceEditor(page, thing) : null,
  ];
}

function jobPanel(page) {
  const { job } = page;
  if (!job) return gone(page);
  return [
    el("p", { class: "soft" }, [`Job ${job.number} of ${page.view.jobs.length}`, job.where, job.optional ? "optional" : "", job.state_said, job.payer === "customer" ? "" : `paid by ${job.payer_said}`].filter(Boolean).join(" – ")),
    el("h2", { class: "sentence", id: "in-hand" }, `${job.title} – ${job.amount}`),
    job.doubts.map((each) => el("p", { class: "notice" }, "A guess: ", each)),
    job.notes.filter((each) => !each.startsWith("This is a guess") && !each.startsWith("Paid by")).map((each) => el("p", { class: "notice", text: each })),
    found(job, page),
    ways(page),
    lines(page),
    page.open === "add_line" ? addLineEditor(page) : null,
    el("div", { class: "row actions" },
      button("Next", () => page.step(1), { key: "Enter", main: true }),
      button("Add a line", () => page.edit("add_line"), { key: "a" }),
      button("Who pays", () => page.edit("payer"), { key: "b" }),
      job.state === "authorized" ? button("What came of it", () => page.edit("outcome"), { key: "r" }) : null),
    page.open === "payer" ? payerEditor(page) : null,
    page.open === "outcome" ? outcomeEditor(page) : null,
    job.outcomes.map((each) => el("p", { class: "soft" }, `${each.at}: ${each.text} (${each.by})`, each.note ? ` – ${each.note}` : "", each.promised ? ` – promised for ${each.promised}` : "")),
    el("details", {}, el("summary", { text: "How it was priced, order, take out" }),
      el("p", { class: "soft", text: job.why ?? "Made by hand." }),
      el("div", { class: "row" }, button("Earlier", () => move(page, -1), { key: "[" }), button("Later", () => move(page, 1), { key: "]" }), button("Take the job out", () => page.edit("remove_job"), { key: "z" }))),
    page.open === "remove_job" ? removeJobEditor(page) : null,
  ];
}

/** The ways to do a job, one under the other; what the technician said stands beside. */
function ways(page) {
  const { job } = page;
  if (job.choices.length < 2 && !job.choices[0]?.spoken) return null;
  return el("div", { class: "choices", role: "group", "aria-label": "Ways to do it" }, job.choices.map((each, place) => button(
    [el("span", {}, each.label || "as below"), el("span", { class: "side", text: each.spoken ? `${each.subtotal} (the technician said ${each.spoken})` : each.subtotal })],
    () => choose(page, each.id), { key: job.choices.length > 1 ? String(place + 1) : null, "aria-pressed": String(each.id === job.chosen), "data-name": each.id })));
}

function lines(page) {
  return el("div", { class: "lines" },
    el("div", { class: "heads", "aria-hidden": "true" }, ["Line", "Quantity", "Each", "Amount"].map((each) => el("span", { text: each }))),
    page.lines.map((line, place) => oneLine(page, line, place)));
}

function oneLine(page, line, place) {
  const here = place === page.line;
  const change = (name) => { page.line = place; page.open = null; page.edit(name); };
  const is = [line.part_is, line.part_maker?.replace("_", " "), line.part_number].filter(Boolean).join(", ");
  const value = (name, shown, label) => el("button", { type: "button", class: name === "text" ? "what" : "number", "aria-label": `${label}: ${shown}`, "data-name": `${line.id} ${name}`, onclick: () => change(name) }, shown);
  return el("div", { class: "line", "aria-current": here ? "true" : null },
    value("text", line.text, "wording"), value("quantity", `${line.quantity} ${line.unit}`, "quantity"), value("unit_price", line.unit_price_said, "price of one"), el("span", { class: "number", text: line.amount }),
    is || line.note ? el("small", { text: [is, line.note].filter(Boolean).join(" – ") }) : null,
    here && ["quantity", "unit_price", "text"].includes(page.open) ? lineEditor(page, line) : null,
    here && page.open === "remove_line" ? removeLineEditor(page, line) : null,
    here && !page.open ? el("small", { class: "hint wide" }, el("kbd", { text: "q" }), " quantity ", el("kbd", { text: "p" }), " price ", el("kbd", { text: "w" }), " wording ", el("kbd", { text: "x" }), " take out") : null);
}

function gone(page) {
  return [el("h2", { class: "sentence", id: "in-hand", text: "This is not there any more" }), el("div", { class: "row actions" }, button("Next", () => page.take(page.first()), { key: "Enter", main: true }))];
}
