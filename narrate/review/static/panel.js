// The thing in hand: one finding, concern, contradiction, stretch or suggestion, and what can be decided about it.

import { button, el } from "./dom.js";
import { FIELDS, MORE } from "./fields.js";
import { quote } from "./words.js";
import { attachments } from "./attachments.js";

const STATE = { unreviewed: "to check", confirmed: "checked", corrected: "corrected", added: "added by hand", dropped: "dropped" };

/** What stands in the middle of the page. */
export function panel(hand, page) {
  const make = { finding: findingPanel, concern: concernPanel, contradiction: contradictionPanel, unplaced: unplacedPanel, suggestion: suggestionPanel, done: donePanel }[hand.kind];
  return make(hand, page);
}

export function title(finding) {
  const first = [finding.said.places, finding.component.name].filter(Boolean).join(" ");
  return first.charAt(0).toUpperCase() + first.slice(1);
}

function findingPanel({ id }, page) {
  const finding = page.finding(id);
  if (!finding) return gone(page);
  const state = finding.review.state;
  const dropped = state === "dropped";
  const shown = MORE.filter((field) => page.all || page.open === field.name || field.show(finding));
  return [
    el("p", { class: "soft" }, STATE[state], finding.review.by ? ` by ${finding.review.by}` : "", finding.review.why ? `: ${finding.review.why}` : ""),
    el("h2", { class: "sentence", id: "in-hand" }, title(finding), finding.said.conditions ? ` – ${finding.said.conditions}` : "", finding.said.recommendation ? ` – ${finding.said.recommendation}` : ""),
    finding.doubts.map((doubt) => el("p", { class: "notice" }, "A guess: ", doubt.text, ". ")),
    words(finding, page),
    el("div", { class: "row actions" },
      dropped
        ? button("Take it back in", () => page.ask({ do: "restore", finding: id }), { key: "x", main: true })
        : button(state === "unreviewed" ? "Right, next" : "Next", () => page.right(), { key: "Enter", main: true }),
      listenButton(finding, page),
      dropped ? null : [button("No finding", () => page.drop(finding), { key: "x" }), button("No finding, because …", () => page.edit("drop"), { key: "y" })]),
    page.open === "drop" ? dropEditor(finding, page) : null,
    el("div", { class: "fields" }, [...FIELDS, ...shown].map((field) => fieldRow(field, finding, page, dropped))),
    finding.cautions.map((text) => el("p", { class: "soft" }, text)),
    page.all ? [finding.plain_words.map((each) => el("p", { class: "soft" }, `${each.text} (the program's words)`)), attachments(finding, page)] : null,
    el("div", { class: "row actions" },
      correctButton(finding, page),
      dropped ? null : [button(finding.locations.length > 1 ? "Divide by place" : "Divide in two", () => page.divide(finding), { key: "d" }), button("Same as another", () => page.edit("merge"), { key: "g" })],
      button(page.all ? "Less" : "More", () => page.more(), { key: "m" })),
    page.open === "edit" ? wordsEditor(finding, page) : null,
    page.open === "merge" ? mergeEditor(finding, page) : null,
  ];
}

function fieldRow(field, finding, page, dropped) {
  const open = page.open === field.name;
  const doubtful = finding.doubts.some((doubt) => doubt.field === field.doubt);
  return el("div", { class: open ? "field open" : "field" },
    button([el("span", { class: "label", text: field.label }), el("span", { class: doubtful ? "value guess" : "value", text: field.show(finding) || "–" })],
      () => page.edit(field.name), { key: field.key, disabled: dropped, "aria-expanded": String(open) }),
    open ? page.editor(() => field.change(finding, page)) : null);
}

function words(thing, page) {
  return thing.evidence.map((piece) => quote(piece, page.words(piece.recording), (start_s) => page.playFrom(piece.recording, start_s)));
}

function listenButton(thing, page) {
  const heard = thing.evidence.some((piece) => page.canPlay(piece));
  return heard ? button(page.sound.playing ? "Stop" : "Listen", () => page.listen(), { key: "Space" }) : null;
}

function correctButton(thing, page) {
  return thing.evidence.length ? button("Correct the words", () => page.edit("edit"), { key: "e" }) : el("span", { class: "soft", text: "added by hand; nothing was said" });
}

/** Words with what can be done with them, for things that have no fields. */
function said(thing, page) {
  return el("div", {}, words(thing, page),
    thing.evidence.length ? el("div", { class: "row" }, listenButton(thing, page), correctButton(thing, page)) : null,
    page.open === "edit" ? wordsEditor(thing, page) : null);
}

/** The words of the evidence as one line of text; only what was changed in it is sent. */
function wordsEditor(thing, page) {
  const piece = thing.evidence[0];
  const words = page.words(piece.recording).slice(piece.first_word, piece.last_word + 1).map(([text]) => text);
  const input = el("input", {
    type: "text", value: words.join(" "), "aria-label": "What was really said",
    onkeydown: (event) => {
      event.stopPropagation();
      if (event.key === "Enter") { event.preventDefault(); keep(); } else if (event.key === "Escape") page.leave();
    },
  });
  function keep() {
    const now = input.value.split(/\s+/).filter(Boolean);
    let start = 0;
    while (start < now.length && start < words.length && now[start] === words[start]) start += 1;
    let end = 0;
    while (end < now.length - start && end < words.length - start && now[now.length - 1 - end] === words[words.length - 1 - end]) end += 1;
    if (start === words.length && start === now.length) return page.leave();
    // Words put in between two others take one neighbour along, since an edit replaces what was heard.
    if (start + end === words.length) { if (start) start -= 1; else end -= 1; }
    page.ask({ do: "edit", recording: piece.recording, first_word: piece.first_word + start, last_word: piece.first_word + words.length - 1 - end, text: now.slice(start, now.length - end).join(" ") });
  }
  const editor = el("div", { class: "editor" }, input,
    el("p", { class: "soft", text: "What nobody has decided is found again from the corrected words." }),
    el("div", { class: "row" }, button("Keep", keep, { key: "Enter", main: true }), button("Leave", page.leave, { key: "Esc" })));
  editor.focused = input;
  return page.editor(() => editor);
}

/** A line that asks why; `others`: what else it may be the reason of, as [text, send]. */
export function whyEditor(label, first, page, send, keep = "Keep", others = []) {
  const input = el("input", {
    type: "text", value: first, "aria-label": label,
    onkeydown: (event) => {
      event.stopPropagation();
      if (event.key === "Enter") { event.preventDefault(); send(input.value.trim()); } else if (event.key === "Escape") page.leave();
    },
    onfocus: () => input.select(),
  });
  const editor = el("div", { class: "editor" }, el("label", {}, label), input,
    el("div", { class: "row" }, button(keep, () => send(input.value.trim()), { key: "Enter", main: true }),
      others.map(([text, other]) => button(text, () => other(input.value.trim()))), button("Leave", page.leave, { key: "Esc" })));
  editor.focused = input;
  return page.editor(() => editor);
}

function dropEditor(finding, page) {
  return whyEditor("Why it is no finding", "not said so", page, (why) => page.ask({ do: "drop", finding: finding.id, why: why || "not said so" }, { next: true }));
}

function mergeEditor(finding, page) {
  const others = page.view.findings.filter((each) => each.id !== finding.id && each.review.state !== "dropped");
  const near = [...others].sort((a, b) => Number(b.component.id === finding.component.id) - Number(a.component.id === finding.component.id)).slice(0, 9);
  const take = (other) => page.ask({ do: "merge", findings: [other.id, finding.id] }, { hand: { kind: "finding", id: other.id } });
  const editor = el("div", {
    class: "editor", tabindex: "-1",
    onkeydown: (event) => {
      const other = near[Number(event.key) - 1];
      if (other) take(other);
      else if (event.key === "Escape") page.leave();
      else return;
      event.preventDefault();
      event.stopPropagation();
    },
  }, el("p", {}, "It belongs to:"), near.map((other, place) => button(title(other), () => take(other), { key: String(place + 1) })), button("Leave", page.leave, { key: "Esc" }));
  editor.focused = editor;
  return page.editor(() => editor);
}

function concernPanel({ id }, page) {
  const concern = page.view.concerns.find((each) => each.id === id);
  if (!concern) return gone(page);
  const findings = page.view.findings.filter((each) => each.review.state !== "dropped");
  const suggested = findings.filter((each) => each.answers.some((a) => a.concern === id && a.link === "suggested"));
  const answer = (finding) => {
    const by = (link) => finding.answers.filter((a) => a.link === link && a.concern !== id).map((a) => a.concern);
    page.ask({ do: "answers", finding: finding.id, to: [...by("stated"), id], suggested: by("suggested"), seen: finding.answers.map((a) => a.concern) });
  };
  const near = [...suggested, ...findings.filter((each) => !suggested.includes(each) && each.status === "fault")].slice(0, 9);
  return [
    el("p", { class: "soft", text: "The customer's concern has no answer yet" }),
    el("h2", { class: "sentence", id: "in-hand", text: `“${concern.text}”` }),
    said(concern, page),
    near.length ? el("p", {}, "Which finding answers it?") : null,
    el("div", { class: "stack" }, near.map((finding, place) => button([title(finding), finding.said.conditions ? ` – ${finding.said.conditions}` : "", suggested.includes(finding) ? " (suggested)" : ""], () => answer(finding), { key: String(place + 1) }))),
    decisions(page, id, [["Answered in another way", "settled", "j"], ["Not looked at", "not_looked_at", "o"]]),
  ];
}

/** Buttons that settle a thing at once, and one that asks why first. */
function decisions(page, about, choices) {
  const [[first, decided], ...others] = choices;
  const send = (as) => (why) => page.decide(about, as, why || null);
  return [
    el("div", { class: "row actions" },
      choices.map(([text, as, key], place) => button(text, () => page.decide(about, as), { key, main: place === 0 && choices.length === 1 })),
      button("With a reason …", () => page.edit("why"), { key: "y" }), button("Next", () => page.step(1), { key: "↓" })),
    page.open === "why" ? whyEditor("Why", "", page, send(decided), first, others.map(([text, as]) => [text, send(as)])) : null,
  ];
}

function contradictionPanel({ id }, page) {
  const each = page.view.contradictions.find((one) => one.about === id);
  if (!each) return gone(page);
  const findings = each.between.map((one) => page.finding(one)).filter(Boolean);
  return [
    el("p", { class: "soft", text: "These cannot both be right" }),
    el("h2", { class: "sentence", id: "in-hand", text: each.text }),
    findings.map((finding, place) => el("section", {}, el("h3", {}, button([title(finding), ` – ${finding.said.conditions || finding.said.status}`], () => page.take({ kind: "finding", id: finding.id }), { key: String(place + 1) })),
      finding.evidence.map((piece) => quote(piece, page.words(piece.recording), (start_s) => page.playFrom(piece.recording, start_s))))),
    el("p", { class: "soft", text: "Correct or drop one of them, or say that both stand." }),
    decisions(page, id, [["Both stand", "settled", "j"]]),
  ];
}

const wordsOf = (thing) => thing.evidence.map((piece) => piece.said).join(" … ");

function unplacedPanel({ id }, page) {
  const each = page.view.unplaced.find((one) => one.id === id);
  if (!each) return gone(page);
  const rest = page.otherStretches;
  return [
    el("p", { class: "soft", text: "Heard, but not understood" }),
    el("h2", { class: "sentence", id: "in-hand", text: `“${wordsOf(each)}”` }),
    el("p", {}, each.why.charAt(0).toUpperCase() + each.why.slice(1)),
    said(each, page),
    el("div", { class: "row actions" },
      button("Make a finding of it", () => page.add({ unplaced: id }), { key: "t", main: true }),
      button("Nothing in it", () => page.ask({ do: "decide", about: id, decided: "nothing_in_it", why: null }, { next: true }), { key: "o" }),
      button("Next", () => page.step(1), { key: "↓" })),
    page.open === "add" ? page.adder() : null,
    rest.length ? el("section", {}, el("h3", { text: "Not understood either" }),
      el("ul", {}, rest.map((other) => el("li", { text: `“${wordsOf(other)}”` }))),
      el("div", { class: "row" }, button(`Nothing in any of these ${rest.length + 1}`, () => page.nothingInRest(), { key: "Shift+O" }))) : null,
  ];
}

function suggestionPanel({ id }, page) {
  const each = page.view.suggestions.find((one) => one.id === id);
  if (!each) return gone(page);
  return [
    el("p", { class: "soft" }, "The program suggests; nobody said it", ` (${each.source})`),
    el("h2", { class: "sentence", id: "in-hand", text: each.text }),
    each.evidence.length ? said(each, page) : null,
    el("div", { class: "row actions" },
      button("Make a finding of it", () => page.add({ suggestion: id }), { key: "t", main: true }),
      button("Nothing in it", () => page.ask({ do: "decide", about: id, decided: "nothing_in_it", why: null }, { next: true }), { key: "o" }),
      button("Next", () => page.step(1), { key: "↓" })),
    page.open === "add" ? page.adder() : null,
  ];
}

function donePanel(hand, page) {
  const signed = page.view.signed;
  if (signed) {
    return [
      el("h2", { class: "sentence", id: "in-hand", text: `Signed by ${signed.by}` }),
      el("p", { class: "soft", text: "The list can go to the estimate. Changing it opens it again." }),
      el("form", { class: "row actions", method: "post", action: `/walkarounds/${page.view.id}/estimate` }, el("button", { class: "main", text: "Make the estimate" })),
      el("div", { class: "row actions" }, button("Open it again", () => page.ask({ do: "reopen" })), button("Add a finding", () => page.add({}), { key: "i" })),
      page.open === "add" ? page.adder() : null,
      page.offers(),
    ];
  }
  const left = page.view.blocks.length;
  return [
    el("h2", { class: "sentence", id: "in-hand", text: left ? "That was the last one; some were left open" : "Everything is decided" }),
    el("p", { class: "soft" }, left ? "Go back to what is open, or add what is missing." : `${page.view.findings.filter((each) => each.review.state !== "dropped").length} findings stand.`),
    el("div", { class: "row actions" },
      left ? button("To what is open", () => page.first(), { key: "Enter", main: true }) : button("Sign the list", () => page.ask({ do: "sign" }), { key: "Enter", main: true }),
      button("Add a finding", () => page.add({}), { key: "i" })),
    page.open === "add" ? page.adder() : null,
  ];
}

function gone(page) {
  return [el("h2", { class: "sentence", id: "in-hand", text: "This is not there any more" }), el("div", { class: "row actions" }, button("Next", () => page.first(), { key: "Enter", main: true }))];
}
