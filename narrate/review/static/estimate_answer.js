// What the customer says: who, how, which words, read back, and each job done, not done or decided later.

import { post } from "./api.js";
import { button, count, el, fill } from "./dom.js";
import { field, select, text } from "./estimate_editors.js";

const HOW = [["telephone", "by telephone"], ["in_person", "in person"], ["paper", "on paper, signed"]];
const SAY = [["authorized", "do it"], ["declined", "do not"], ["decide_by", "decide later"]];
const MONTH_DAYS = 30;
const WAIT_MS = 150;

export function answerPanel(page) {
  const { view } = page;
  const back = button("Back", () => page.take({ kind: "done" }), { key: "Esc" });
  if (view.draft) return stop("A draft cannot be authorized", `${count(view.to_check, "finding")} still to be checked by a person.`, el("a", { class: "button main", href: `/walkarounds/${view.walkaround}`, text: "Check the list" }), back);
  if (!view.jobs.length) return stop("No job is in it", "There is nothing to answer.", null, back);
  const shown = JSON.stringify(view.jobs) + view.total;
  // Built once: what is typed must not vanish when the page is shown anew.
  if (page.answer?.of !== shown) page.answer = { of: shown, element: answerForm(page, back) };
  return page.answer.element;
}

function stop(title, why, more, back) {
  return [el("h2", { class: "sentence", id: "in-hand", text: title }), el("p", { text: why }), el("div", { class: "row actions" }, more, back)];
}

function answerForm(page, back) {
  const { view } = page;
  const { customer } = view.head;
  const who = text(customer.name, { name: "who", autocomplete: "off" });
  const how = select(HOW, "telephone");
  const number = text(customer.phone, { inputmode: "tel" });
  const photo = el("input", { type: "file", accept: "image/jpeg,image/png,image/webp", capture: "environment" });
  const sheet = field("Photo of the signed sheet", photo);
  const called = field("Number called", number);
  const byWay = () => { sheet.hidden = how.value !== "paper"; called.hidden = how.value !== "telephone"; };
  how.addEventListener("change", byWay);
  byWay();
  const words = el("textarea", { rows: "2" });
  const readBack = el("input", { type: "checkbox" });
  const agreed = el("p", { class: "agreed", role: "status" });
  const wrong = el("p", { class: "error", role: "alert", hidden: true });
  const rows = view.jobs.map((job) => jobRow(job, () => later()));
  let timer = null;
  let asked = 0;
  let total = null;
  const answers = () => Object.fromEntries(rows.map((row) => [row.id, row.read()]).filter(([, answer]) => answer));
  const body = () => ({ who: who.value.trim(), how: how.value, number: how.value === "telephone" ? number.value.trim() || null : null, words: words.value.trim() || null, read_back: readBack.checked, answers: answers() });
  const refuse = (message) => { wrong.textContent = message; wrong.hidden = !message; };
  const later = () => { clearTimeout(timer); timer = setTimeout(reckon, WAIT_MS); };

  async function reckon() {
    const mine = ++asked;
    refuse("");
    if (!Object.keys(answers()).length) return fill(agreed, "Mark what the customer says to each job.");
    try {
      const told = await post(`/api/estimates/${page.id}/would`, { ...body(), who: who.value.trim() || "?" });
      if (mine !== asked) return;
      total = told.plain;
      fill(agreed, "Read back: ", el("strong", { text: told.total }), `, tax included – ${told.text}`);
    } catch (error) {
      if (mine !== asked) return;
      total = null;
      fill(agreed, "");
      refuse(error.message);
    }
  }

  function keep() {
    if (!who.value.trim()) { refuse("Type who answered."); who.focus(); return; }
    page.inTurn(async () => {
      try {
        const attachment = how.value === "paper" && photo.files.length ? await sent(photo.files[0], view.walkaround) : null;
        page.taken(await post(`/api/estimates/${page.id}/answers`, { ...body(), total, attachment }));
        page.answer = null;
        page.take({ kind: "done" });
      } catch (error) {
        refuse(error.message);
        if (error.status === 409) await page.reload();
      }
    });
  }

  const all = (state) => { for (const row of rows) row.set(state); later(); };
  const form = el("div", {
    onkeydown: (event) => {
      if (event.key === "Escape") { event.preventDefault(); page.take({ kind: "done" }); }
      if (event.key === "Enter" && event.target instanceof HTMLInputElement) { event.preventDefault(); keep(); }
    },
  },
  el("h2", { class: "sentence", id: "in-hand", text: "What does the customer say?" }),
  el("div", { class: "columns close" }, field("Who answers", who), field("How", how), called, sheet),
  el("div", { class: "row" }, button("All: do it", () => all("authorized")), button("All: do not", () => all("declined"))),
  el("div", { class: "answers" }, rows.map((row) => row.element)),
  agreed,
  field("Their words", words),
  el("label", { class: "inline" }, readBack, "the work and the total were read back to them"),
  wrong,
  el("div", { class: "row actions" }, button("Keep the answer", keep, { key: "Enter", main: true }), back));
  reckon();
  return form;
}

/** One job: three answers, the way, and by when. */
function jobRow(job, changed) {
  const name = `answer ${job.id}`;
  const radios = SAY.map(([value]) => el("input", { type: "radio", name, value, checked: job.state === value && job.state !== "offered", onchange: () => show() }));
  const date = text(job.decide_by_date ?? inDays(MONTH_DAYS), { type: "date", "aria-label": "decide by", onchange: changed });
  const way = job.choices.length > 1 ? el("select", { "aria-label": "which way", onchange: changed }, job.choices.map((each) => el("option", { value: each.id, selected: each.id === job.chosen, text: `${each.label}: ${each.subtotal}` }))) : null;
  const chosen = () => radios.find((each) => each.checked)?.value ?? null;
  const show = (quiet = false) => {
    date.hidden = chosen() !== "decide_by";
    if (way) way.hidden = chosen() === "declined";
    if (!quiet) changed();
  };
  show(true);
  const element = el("fieldset", {},
    el("legend", { text: `${job.number}. ${job.title} – ${job.amount}${job.optional ? " (optional)" : ""}` }),
    job.notes.filter((each) => each.startsWith("Cannot be done")).map((each) => el("p", { class: "soft", text: each })),
    way,
    el("div", { class: "row" }, SAY.map(([, label], place) => el("label", { class: "inline" }, radios[place], label)), date));
  return {
    id: job.id,
    element,
    set: (state) => { radios.forEach((each) => { each.checked = each.value === state; }); show(true); },
    read: () => {
      const state = chosen();
      if (!state) return null;
      const choice = way?.value ?? job.chosen;
      const amount = job.choices.find((each) => each.id === choice)?.subtotal_plain ?? null;
      return { state, choice: state === "declined" ? null : choice, amount: state === "declined" ? null : amount, decide_by_date: state === "decide_by" ? date.value || null : null };
    },
  };
}

/** The photographed sheet, kept beside the walk-round; its id. */
async function sent(file, walkaround) {
  const form = new FormData();
  form.append("photo", file);
  return (await post(`/api/walkarounds/${walkaround}/attachments`, form)).id;
}

function inDays(days) {
  const day = new Date(Date.now() + days * 86_400_000);
  return `${day.getFullYear()}-${String(day.getMonth() + 1).padStart(2, "0")}-${String(day.getDate()).padStart(2, "0")}`;
}
