// The whole estimate, once no single job is in hand: what is next, the customer's copy, terms, and what was answered.

import { post } from "./api.js";
import { button, count, el } from "./dom.js";
import { addJobEditor, discountEditor, termsEditor } from "./estimate_editors.js";

const OLD_PARTS = { not_stated: "not told", asked_back: "wanted back", not_asked_back: "not wanted back" };

export function wholePanel(page) {
  return [
    behind(page),
    next(page),
    page.open === "add_job" ? addJobEditor(page) : null,
    papers(page),
    terms(page),
    consents(page),
  ];
}

/** The list of findings was changed since: the estimate is made anew from it, what was edited and answered stays. */
function behind(page) {
  const { view } = page;
  const again = button("Take over the list as it is now", () => page.inTurn(async () => {
    page.taken(await post(`/api/estimates/${page.id}/again`));
    page.take(page.first());
  }), { main: page.behind });
  if (page.behind) return el("div", { class: "notice row" }, el("span", { text: "The list of findings was changed after this estimate was made." }), again);
  if (!view.draft) return null;
  return el("p", { class: "notice" }, `A draft: ${count(view.to_check, "finding")} not checked yet. `, el("a", { href: `/walkarounds/${view.walkaround}`, text: "Check the list" }));
}

function next(page) {
  const { view } = page;
  const waiting = view.to_be_priced.length;
  const answered = view.consents.length;
  const open = view.unanswered.length;
  const say = (text) => el("h2", { class: "sentence", id: "in-hand", text });
  const add = button("Add a job", () => page.edit("add_job"), { key: "i" });
  const first = button("To the first", () => page.take(page.first()), { main: true });
  if (waiting) return [say(`${count(waiting, "job has", "jobs have")} no price yet`), el("div", { class: "row actions" }, first, add)];
  if (!view.jobs.length) return [say("No job is in it"), el("div", { class: "row actions" }, add)];
  const answer = (text, main) => button(text, () => page.take({ kind: "answer" }), { key: "c", main });
  const sheet = view.authorized.length ? el("a", { class: open ? "button" : "button main", href: `/estimates/${page.id}/job-sheet`, target: "_blank", text: "Job sheet" }) : null;
  if (answered && !open) return [say(`Answered: ${count(view.authorized.length, "job")} authorized, ${view.agreed} agreed`), el("div", { class: "row actions" }, sheet, answer("Another answer", false), add)];
  const text = view.draft ? `All priced: ${view.total}` : answered ? `${count(open, "job")} still to be answered` : `All priced: ${view.total}. Now the customer`;
  return [say(text), el("div", { class: "row actions" }, view.draft ? null : answer("Take down the answer", true), answered ? sheet : null, add)];
}

// --- what the customer gets

function papers(page) {
  const { id, view } = page;
  const to = `/estimates/${id}`;
  return el("section", {},
    el("h3", { text: "The customer's copy" }),
    el("div", { class: "row" },
      el("a", { class: "button", id: "paper", href: `${to}/paper`, target: "_blank" }, "Look at it, print it", el("kbd", { text: "l" })),
      el("a", { class: "button", href: `${to}/paper.pdf`, text: "PDF" }),
      button("Send it", () => page.edit("send"), {}),
      el("a", { class: "button", href: `${to}/history`, text: "What was done and shown" })),
    page.open === "send" ? sender(page, view) : null,
    el("details", {}, el("summary", { text: "For the shop's own system" }),
      el("div", { class: "row" }, [["CSV", "lines.csv"], ["XLSX", "lines.xlsx"], ["JSON", "estimate.json"]].map(([name, file]) => el("a", { class: "button", href: `${to}/files/${file}`, text: name })))));
}

/** Sending: a file of its own by the system's mail or share, or a link. The technician's words go along only where asked. */
function sender(page, view) {
  const clips = view.clips.map((each) => [each, el("input", { type: "checkbox", value: each.id })]);
  const days = el("input", { type: "number", min: "1", max: "90", value: "14", "aria-label": "Days the link holds" });
  const made = el("div", { class: "told-words", role: "status" });
  const chosen = () => clips.filter(([, box]) => box.checked).map(([each]) => each.id);
  const file = () => `/estimates/${page.id}/estimate.html?clips=${chosen().join(",")}`;
  const mail = () => page.guard(async () => {
    const told = await post(`/api/estimates/${page.id}/shown`, { how: "sent", clips: chosen(), to: view.head.customer.email ?? null });
    location.href = `mailto:${encodeURIComponent(view.head.customer.email ?? "")}?subject=${encodeURIComponent(told.subject)}&body=${encodeURIComponent(told.text)}`;
    made.textContent = "The mail is opened; put the downloaded file into it.";
  });
  const share = () => page.guard(async () => {
    const answer = await fetch(file());
    if (!answer.ok) throw new Error("The file could not be made; look at the customer's copy first.");
    const data = { files: [new File([await answer.blob()], `estimate-${page.id}.html`, { type: "text/html" })], title: `Estimate ${page.id}` };
    if (!navigator.canShare?.(data)) throw new Error("This device shares no files; download the file and send it by mail.");
    await navigator.share(data);
    await post(`/api/estimates/${page.id}/shown`, { how: "sent", clips: chosen(), to: "shared" });
  });
  const link = () => page.guard(async () => {
    const told = await post(`/api/estimates/${page.id}/links`, { days: Number(days.value) });
    made.replaceChildren(el("p", { text: `Who has this link sees this estimate and can answer it until ${told.until}:` }), el("input", { type: "text", readonly: true, value: `${location.origin}${told.path}`, "aria-label": "The link", onfocus: (event) => event.target.select() }));
    made.querySelector("input").focus();
  });
  const editor = el("div", { class: "editor", tabindex: "-1" },
    clips.length ? el("details", {}, el("summary", { text: "Put in the technician's own words, to hear" }), el("div", { class: "stack" }, clips.map(([each, box]) => el("label", { class: "inline" }, box, each.text)))) : null,
    el("div", { class: "row" },
      el("a", { class: "button", href: file(), onclick: (event) => { event.currentTarget.href = file(); }, text: "Download one file" }),
      button("Open a mail", mail), navigator.canShare ? button("Share", share) : null),
    el("div", { class: "row" }, button("Make a link", link), el("label", { class: "inline" }, "for", days, "days"), view.links ? button(`End ${count(view.links, "link")}`, () => page.inTurn(async () => { page.taken(await post(`/api/estimates/${page.id}/links/end`)); page.render(); })) : null),
    made,
    el("div", { class: "row" }, button("Leave", page.leave, { key: "Esc" })));
  return page.editor(() => editor);
}

// --- terms

function terms(page) {
  const { head } = page.view;
  const rows = [
    ["discount", "Discount", head.discount_said ? `${head.discount_said}${head.discount_why ? ` (${head.discount_why})` : ""}` : "", "d", "discount"],
    ["expires", "Prices hold until", head.expires_said, "e", "terms"],
    ["deposit", "Deposit paid", head.deposit_said, null, "terms"],
    ["exempt", "No tax is due", head.tax_exempt ?? "", null, "terms"],
    ["old", "Replaced parts", OLD_PARTS[head.old_parts], null, "terms"],
  ];
  const row = ([name, label, shown, key, editor]) => el("div", { class: page.open === editor ? "field open" : "field" },
    button([el("span", { class: "label", text: label }), el("span", { class: "value", text: shown || "–" })], () => page.edit(editor), { key, "data-name": name }));
  return el("section", {}, el("h3", { text: "Terms" }),
    el("div", { class: "fields" }, row(rows[0]), page.open === "discount" ? discountEditor(page) : null, rows.slice(1).map(row), page.open === "terms" ? termsEditor(page) : null));
}

// --- what was answered

function consents(page) {
  const { consents: given } = page.view;
  if (!given.length) return null;
  const { reach } = page.view;
  return el("section", {}, el("h3", { text: "What the customer answered" }),
    el("p", { class: "soft" }, `${reach.agreed} was agreed last; ${reach.allowed} more may be charged unasked (${reach.place}: “${reach.words}”, ${reach.source}). Check local law.`), given.map((each) => el("div", {},
    el("p", {}, el("strong", { text: each.head }), ` – ${each.total}`), each.words ? el("p", { class: "quote", text: `“${each.words}”` }) : null, el("ul", {}, each.answers.map((answer) => el("li", { text: answer }))))));
}
