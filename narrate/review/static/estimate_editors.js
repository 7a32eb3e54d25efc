// Editors of an estimate: small forms in which Enter keeps and Escape leaves.

import { button, el } from "./dom.js";
import { amount, amountOrNone } from "./money.js";

const KINDS = [["labor", "labor"], ["part", "part"], ["fluid", "fluid"], ["sublet", "work sent out"], ["core", "core charge"]];
const PART_IS = [["", "not told"], ["new", "new"], ["used", "used"], ["rebuilt", "rebuilt"], ["reconditioned", "reconditioned"]];
const MAKER = [["", "not told"], ["original_maker", "original maker"], ["other_maker", "other maker"]];
const UNIT = { labor: "h", part: "each", fluid: "qt", sublet: "each", core: "each" };

/** A labelled field. */
export function field(label, input) { return el("div", {}, el("label", {}, label, input)); }
export function text(value = "", props = {}) { return el("input", { type: "text", value: value ?? "", autocomplete: "off", ...props }); }
export function money(value = "", props = {}) { return text(value, { inputmode: "decimal", size: "8", ...props }); }
export function select(options, chosen) { return el("select", {}, options.map(([value, name]) => el("option", { value, selected: value === (chosen ?? ""), text: name }))); }

/** A form that sends what `read()` gives; a sentence thrown there is shown, and nothing sent. */
export function form(page, fields, send, { label = "Keep", note = null, more = [] } = {}) {
  const wrong = el("p", { class: "error", role: "alert", hidden: true });
  const keep = () => {
    try {
      wrong.hidden = true;
      send();
    } catch (error) {
      wrong.textContent = error.message;
      wrong.hidden = false;
    }
  };
  const editor = el("div", {
    class: "editor",
    onkeydown: (event) => {
      if (event.target instanceof HTMLButtonElement || event.ctrlKey || event.metaKey || event.altKey) return;
      if (event.key === "Enter" && !(event.target instanceof HTMLTextAreaElement)) {
        event.preventDefault();
        event.stopPropagation();
        keep();
      }
    },
  }, el("div", { class: fields.length > 1 ? "columns" : null }, fields), note && el("p", { class: "soft", text: note }), wrong,
  el("div", { class: "row" }, button(label, keep, { key: "Enter", main: true }), more, button("Leave", page.leave, { key: "Esc" })));
  editor.focused = editor.querySelector("input, select, textarea") ?? editor.querySelector("button");
  return page.editor(() => editor);
}

/** One value of one line. */
export function lineEditor(page, line) {
  const { job, open } = page;
  const names = { quantity: line.kind === "labor" ? "Hours" : `Quantity (${line.unit})`, unit_price: line.kind === "labor" ? "Price of an hour" : "Price of one", text: "Wording" };
  const input = open === "text" ? text(line.text) : money(line[open]);
  input.addEventListener("focus", () => input.select());
  return form(page, [field(names[open], input)], () => {
    const to = open === "text" ? input.value.trim() : amount(input.value, names[open].toLowerCase());
    page.ask({ do: "line", line: line.id, field: open, to, seen: line[open] });
  }, { note: job.state === "authorized" && open !== "text" ? "The customer has authorized this job; another price asks them again." : null });
}

export function removeLineEditor(page, line) {
  return form(page, [el("p", { text: `Take “${line.text}” out of this job?` })], () => page.ask({ do: "remove_line", line: line.id, seen: line.amount_plain }), { label: "Take it out" });
}

/** Lines typed by hand; gives the fields and what they say. */
function newLine(kind = "part") {
  const what = select(KINDS, kind);
  const words = text();
  const quantity = money("1");
  const price = money();
  const is = select(PART_IS, "");
  const maker = select(MAKER, "");
  const number = text();
  const ofParts = [field("It is", is), field("Made by", maker), field("Part number", number)];
  const show = () => { for (const each of ofParts) each.hidden = what.value !== "part"; };
  what.addEventListener("change", show);
  show();
  return {
    fields: [field("Kind", what), field("Wording", words), field("Hours or quantity", quantity), field("Price of one", price), ...ofParts],
    read: () => {
      if (!words.value.trim()) throw new Error("Say what the line is for.");
      const part = what.value === "part";
      return {
        kind: what.value, text: words.value.trim(), quantity: amount(quantity.value, "quantity"), unit: UNIT[what.value], unit_price: amount(price.value, "price"),
        part_is: part && is.value ? is.value : null, part_maker: part && maker.value ? maker.value : null, part_number: part && number.value.trim() ? number.value.trim() : null,
      };
    },
  };
}

export function addLineEditor(page) {
  const { job, choice } = page;
  const line = newLine();
  return form(page, line.fields, () => page.ask({ do: "add_line", job: job.id, choice: choice.id, line: line.read() }));
}

export function addJobEditor(page) {
  const title = text();
  const line = newLine("labor");
  return form(page, [field("The job", title), ...line.fields], () => {
    if (!title.value.trim()) throw new Error("Say what the job is.");
    page.ask({ do: "add_job", title: title.value.trim(), line: line.read() });
  }, { note: "With its first line; more lines can be added to it then." });
}

export function removeJobEditor(page) {
  const why = text("", { placeholder: "why" });
  return form(page, [field("Why the job is taken out", why)], () => {
    if (!why.value.trim()) throw new Error("Say why; what was found stays in the list of findings.");
    page.ask({ do: "remove_job", job: page.job.id, why: why.value.trim(), seen: page.job.state });
  }, { label: "Take it out" });
}

/** Price what the book has nothing for: hours, a part, or work sent out. */
export function priceEditor(page, thing) {
  const hours = money();
  const rate = money(page.view.rate ?? "");
  const part = text();
  const price = money();
  const quantity = money("1");
  const is = select(PART_IS.slice(1), "new");
  const sublet = money();
  const keep = el("input", { type: "checkbox", checked: true });
  return form(page, [
    field("Hours", hours), field("Price of an hour", rate), field("Part", part), field("Price of one", price), field("How many", quantity), field("It is", is), field("Or work sent out, price", sublet),
  ], () => {
    const asked = {
      hours: amountOrNone(hours.value, "number of hours"), rate: amountOrNone(rate.value, "price of an hour"),
      part: part.value.trim() || null, part_price: amountOrNone(price.value, "price"), part_quantity: amount(quantity.value, "quantity"), part_is: is.value, sublet: amountOrNone(sublet.value, "price"),
    };
    if (asked.hours && !asked.rate) throw new Error("Type the price of an hour too.");
    if (asked.part && !asked.part_price) throw new Error("Type the price of the part too.");
    if (!asked.hours && !asked.part_price && !asked.sublet) throw new Error("Type the hours, the part's price, or what the work costs where it is sent out.");
    page.ask({ do: "price", thing: thing.id, ...asked, keep: keep.checked && thing.component !== null });
  }, { label: "Price it", more: thing.component === null ? [] : [el("label", { class: "inline" }, keep, "and keep the price in the book")] });
}

export function payerEditor(page) {
  const { job } = page;
  const who = select([["customer", "the customer"], ["warranty", "a warranty"], ["fleet", "a fleet"]], job.payer);
  const order = text(job.payer_order);
  return form(page, [field("Who pays", who), field("Under which order number", order)], () => page.ask({
    do: "payer", job: job.id, to: who.value, order: order.value.trim() || null, seen: job.payer,
  }));
}

export function discountEditor(page) {
  const { head } = page.view;
  const sum = money(head.discount === "0" ? "" : head.discount);
  const why = text(head.discount_why);
  return form(page, [field(`Discount (${page.view.currency})`, sum), field("Why", why)], () => {
    const to = amountOrNone(sum.value, "amount") ?? "0";
    if (to !== "0" && !why.value.trim()) throw new Error("Say why there is a discount; it stands on the customer's copy.");
    page.ask({ do: "discount", to, why: why.value.trim() || null, seen: head.discount });
  });
}

/** Terms of the whole, asked one by one: only what was changed is sent. */
export function termsEditor(page) {
  const { head } = page.view;
  const expires = text(head.expires_on, { type: "date" });
  const deposit = money(head.deposit === "0" ? "" : head.deposit);
  const exempt = text(head.tax_exempt, { placeholder: "number of the certificate" });
  const old = select([["not_stated", "not told"], ["asked_back", "wants them back"], ["not_asked_back", "does not want them back"]], head.old_parts);
  return form(page, [field("Prices hold until", expires), field("Deposit paid", deposit), field("No tax is due, because", exempt), field("Replaced parts: the customer", old)], () => {
    const asked = [
      ["expires", expires.value || null, head.expires_on], ["deposit", amountOrNone(deposit.value, "amount") ?? "0", head.deposit],
      ["tax_exempt", exempt.value.trim() || null, head.tax_exempt], ["old_parts", old.value, head.old_parts],
    ].filter(([, to, seen]) => to !== seen);
    if (!asked.length) return page.leave();
    for (const [name, to, seen] of asked) page.ask({ do: name, to, seen });
  });
}

export function outcomeEditor(page) {
  const { job } = page;
  const what = select([["done", "done"], ["not_needed", "not needed"], ["found_worse", "found worse"], ["part_ordered", "part ordered"], ["part_here", "part is here"]], "done");
  const note = text();
  const promised = text("", { type: "date" });
  const when = field("Part promised for", promised);
  const show = () => { when.hidden = what.value !== "part_ordered"; };
  what.addEventListener("change", show);
  show();
  return form(page, [field("What came of it", what), field("Note", note), when], () => page.ask({
    do: "outcome", job: job.id, what: what.value, note: note.value.trim() || null, promised: what.value === "part_ordered" ? promised.value || null : null,
  }));
}
