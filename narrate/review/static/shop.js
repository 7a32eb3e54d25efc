// Names of parts, conditions and work, offered for a few letters.

import { get } from "./api.js";
import { el, fill } from "./dom.js";

const SORTS = ["component", "condition", "action"];
const WAIT_MS = 120;
const field = document.getElementById("own-means");
const list = document.getElementById("own-names");
let timer = null;
let asked = 0;

field.addEventListener("input", () => {
  clearTimeout(timer);
  timer = setTimeout(offer, WAIT_MS);
});

async function offer() {
  const typed = field.value.trim();
  const mine = ++asked;
  if (typed.length < 2) return;
  const found = await Promise.all(SORTS.map((sort) => get(`/api/names/${sort}?q=${encodeURIComponent(typed)}`)));
  // A slow answer to fewer letters must not replace the answer to more.
  if (mine === asked) fill(list, found.flat().map(({ id, name }) => el("option", { value: id, label: name })));
}
