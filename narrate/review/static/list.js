// The list beside the thing in hand: every finding in the order it was said, and the counts that open.

import { button, count, el } from "./dom.js";
import { title } from "./panel.js";

const MARK = { unreviewed: "?", confirmed: "✓", corrected: "✎", added: "+", dropped: "–" };
const WORD = { unreviewed: "to check", confirmed: "checked", corrected: "corrected", added: "added by hand", dropped: "dropped" };

export function list(page) {
  const { view } = page;
  const findings = view.findings.filter((each) => page.dropped || each.review.state !== "dropped");
  const dropped = view.findings.length - view.findings.filter((each) => each.review.state !== "dropped").length;
  return [
    el("ol", { class: "list", "aria-label": "Findings" }, findings.map((each) => row({ kind: "finding", id: each.id }, page,
      el("span", { class: "mark", role: "img", "aria-label": WORD[each.review.state], text: MARK[each.review.state] }),
      el("span", { class: each.review.state === "dropped" ? "struck" : "" }, el("strong", { text: title(each) }), each.said.conditions ? ` – ${each.said.conditions}` : "", each.said.recommendation ? ` – ${each.said.recommendation}` : "",
        each.measurements.length ? el("small", { class: "soft", text: ` ${each.measurements.map((m) => m.text).join(", ")}` }) : null)))),
    dropped ? button(page.dropped ? "Hide what was dropped" : `${dropped} dropped`, () => { page.dropped = !page.dropped; page.render(); }, { "data-name": "dropped" }) : null,
    group("concern", "Concerns", view.concerns.map((each) => [each.id, each.text, open(page, "concern", each.id) ? "?" : "✓"]), page),
    group("contradiction", "Contradictions", view.contradictions.map((each) => [each.about, each.text, open(page, "contradiction", each.about) ? "?" : "✓"]), page),
    group("unplaced", "Not understood", view.unplaced.map((each) => [each.id, each.evidence.map((piece) => piece.said).join(" … "), open(page, "unplaced", each.id) ? "?" : "✓"]), page),
    group("suggestion", "Suggestions", view.suggestions.filter((each) => !view.decisions[each.id]).map((each) => [each.id, each.text, "·"]), page, true),
    plain("Not mentioned", view.not_mentioned, page),
    plain("Compared with the visit before", view.comparisons, page),
    plain("Hard to hear", view.poor_stretches.map((each) => each.why), page),
  ];
}

function open(page, kind, about) {
  return page.view.blocks.some((each) => each.kind === kind && each.about === about);
}

function row(hand, page, mark, text) {
  const current = page.hand.kind === hand.kind && page.hand.id === hand.id;
  return el("li", {}, el("button", { type: "button", class: "item", "data-name": `${hand.kind} ${hand.id}`, "aria-current": current ? "true" : null, onclick: () => page.take(hand) }, mark, text));
}

/** What is rarely looked at stays a count until it is opened. */
function group(kind, name, items, page, quiet = false) {
  if (!items.length) return null;
  const waiting = items.filter(([, , mark]) => mark === "?").length;
  const shown = page.shown.has(kind) || page.hand.kind === kind || (!quiet && waiting > 0);
  return el("section", {},
    el("h3", {}, el("button", { type: "button", class: "quiet", "data-name": kind, "aria-expanded": String(shown), onclick: () => page.toggle(kind) }, `${name}: ${items.length}`, waiting ? ` (${waiting} open)` : "")),
    shown ? el("ul", { class: "list" }, items.map(([id, text, mark]) => row({ kind, id }, page, el("span", { class: "mark", role: "img", "aria-label": mark === "?" ? "open" : mark === "✓" ? "decided" : "suggested", text: mark }), el("span", {}, text)))) : null);
}

function plain(name, items, page) {
  if (!items.length) return null;
  const shown = page.shown.has(name);
  return el("section", {},
    el("h3", {}, el("button", { type: "button", class: "quiet", "data-name": name, "aria-expanded": String(shown), onclick: () => page.toggle(name) }, `${name}: ${items.length}`)),
    shown ? el("ul", {}, items.map((text) => el("li", { text }))) : null);
}

/** What is left, in one line, and the one thing that does most of it. */
export function progressLine(page) {
  const { view } = page;
  const left = view.blocks.length;
  const kinds = [["finding", "finding"], ["contradiction", "contradiction"], ["concern", "concern"], ["unplaced", "stretch not understood", "stretches not understood"]];
  const parts = kinds.map(([kind, one, more]) => [view.blocks.filter((each) => each.kind === kind).length, one, more]).filter(([n]) => n).map(([n, one, more]) => count(n, one, more));
  return [
    el("p", { class: "left", "aria-live": "polite" }, view.signed ? `Signed by ${view.signed.by}` : left ? `Before signing: ${parts.join(", ")}` : "Nothing stands in the way of signing"),
    view.sure.length > 1 ? button(`Confirm the ${view.sure.length} sure ones`, () => page.confirmSure(), { key: "Shift+Enter" }) : null,
    view.signed || left ? null : button("Sign the list", () => page.ask({ do: "sign" }, { hand: { kind: "done" } }), { main: true, key: "Shift+S" }),
  ];
}
