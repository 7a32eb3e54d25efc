// At the end of a review: part names that were misheard, offered as words of the shop's own.

import { get, post } from "./api.js";
import { button, el, fill } from "./dom.js";

export async function offers(walkaround, place, page) {
  const path = `/api/walkarounds/${walkaround}/own-words`;
  await page.guard(async () => {
    const found = (await get(path)).offers;
    if (found.length) show(found, path, place, page);
  });
}

function show(found, path, place, page) {
  const boxes = found.map(() => el("input", { type: "checkbox", checked: true }));
  const keep = () => page.guard(async () => {
    const accept = found.filter((_, n) => boxes[n].checked).map(({ words, means, kind, needs_context }) => ({ words, means, kind, needs_context }));
    if (!accept.length) return fill(place, el("p", { class: "notice", text: "None was kept." }));
    const { remarks } = await post(path, { accept });
    fill(place, el("p", { class: "notice", text: "Kept as the shop's own words; they count from the next recording on." }), remarks.map((text) => el("p", { class: "soft", text })));
  });
  fill(place,
    el("h3", { text: "Heard otherwise" }),
    el("p", { class: "soft", text: "These words were heard where you named another part. Shall they mean it from now on?" }),
    found.map((offer, n) => el("p", {}, el("label", { class: "inline" }, boxes[n], `“${offer.words}” means ${offer.name}`), el("small", { class: "soft", text: `in “${offer.said}”` }))),
    button("Keep the ticked ones", keep));
}
