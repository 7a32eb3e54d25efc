// From a key pressed to what is done: where nothing is typed, every key means what the key sheet says.

import { FIELDS, MORE } from "./fields.js";

/** What a key does now; null where it does nothing. */
export function actionFor(event, page) {
  const { kind, id } = page.hand;
  const onButton = event.target instanceof Element && event.target.closest("button, a, summary");
  const finding = kind === "finding" ? page.finding(id) : null;
  const digit = Number(event.key);
  if (event.key === "Enter") {
    if (event.shiftKey) return () => page.confirmSure();
    return onButton ? null : () => page.right();
  }
  if (event.key === " ") return onButton ? null : () => page.listen();
  if (event.key === "U") return () => page.back("redo");
  if (event.key === "S") return () => page.ask({ do: "sign" }, { hand: { kind: "done" } });
  if (digit >= 1 && digit <= 9 && !page.open) return () => document.querySelectorAll("#hand .stack button, #hand section h3 button")[digit - 1]?.click();
  const field = finding && finding.review.state !== "dropped" && [...FIELDS, ...MORE].find((each) => each.key === event.key);
  if (field) return () => page.edit(field.name);
  const actions = {
    ArrowDown: () => page.step(1),
    ArrowUp: () => page.step(-1),
    u: () => page.back("undo"),
    "?": () => page.sheet(),
    "/": () => location.assign("/#find"),
    i: () => page.add({}),
    m: () => page.more(),
    v: () => everything(page),
    e: () => page.thing?.evidence?.length && page.edit("edit"),
  };
  if (finding) {
    actions.x = () => (finding.review.state === "dropped" ? page.ask({ do: "restore", finding: id }) : page.drop(finding));
    actions.y = () => finding.review.state !== "dropped" && page.edit("drop");
    actions.d = () => page.divide(finding);
    actions.g = () => page.edit("merge");
  } else if (kind === "unplaced" || kind === "suggestion") {
    actions.t = () => page.add({ [kind]: id });
    actions.o = () => page.ask({ do: "decide", about: id, decided: "nothing_in_it", why: null }, { next: true });
    if (kind === "unplaced") actions.O = () => page.nothingInRest();
  } else if (kind === "concern" || kind === "contradiction") {
    actions.j = () => page.decide(id, "settled");
    actions.y = () => page.edit("why");
    if (kind === "concern") actions.o = () => page.decide(id, "not_looked_at");
  }
  return actions[event.key] ?? null;
}

function everything(page) {
  const place = document.querySelector("#spoken");
  place.open = !place.open;
  if (!place.open) return page.home();
  page.renderSpoken();
  page.transcripts[0]?.element.focus();
  place.scrollIntoView({ block: "nearest" });
}
