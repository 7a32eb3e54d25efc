// Where on the car: digits as on a keypad laid over the car seen from above, nose up; and the car to touch.

import { button, el, fill } from "./dom.js";

const PAD = [
  ["7", "front left"], ["8", "front"], ["9", "front right"],
  ["4", "left"], ["5", "all four"], ["6", "right"],
  ["1", "rear left"], ["2", "rear"], ["3", "rear right"],
];
const CORNERS = ["front left", "front right", "rear left", "rear right"];
const MORE = { u: "upper", l: "lower", i: "inner", o: "outer" };
const OPPOSITE = { upper: "lower", lower: "upper", inner: "outer", outer: "inner" };
const SVG = "http://www.w3.org/2000/svg";

function split(location) {
  const tokens = location.split(" ").filter(Boolean);
  return [tokens.filter((t) => !(t in OPPOSITE)).join(" "), tokens.filter((t) => t in OPPOSITE)];
}

function joined(base, more) {
  const order = ["upper", "lower", "inner", "outer"];
  return [base, ...order.filter((token) => more.includes(token))].filter(Boolean).join(" ");
}

const OTHERS = [{ left: "right", right: "left" }, { front: "rear", rear: "front" }];
const LETTERS = "abcdef";

/** Places instead of these: the other side of the car, its other end, one of several alone, and no place for one. */
export function instead(locations) {
  const swapped = OTHERS.map((other) => locations.map((place) => place.split(" ").map((token) => other[token] ?? token).join(" ")))
    .filter((places) => new Set([...places, ...locations]).size > locations.length);
  return [...swapped, ...(locations.length > 1 ? locations.map((place) => [place]) : locations.length ? [[]] : [])];
}

/** An editor of places. save(locations) keeps them, cancel() leaves them; `heard`: a promise of places to offer. */
export function placesEditor(locations, save, cancel, heard = Promise.resolve([])) {
  let offers = instead(locations);
  let chosen = locations.map(split);
  const told = el("p", { "aria-live": "polite", class: "soft" });
  const pad = el("div", { class: "pad" });
  const offered = el("div", { class: "row" });
  const editor = el("div", { class: "editor places", tabindex: "-1", onkeydown: (event) => key(event) }, offered, pad, told);
  const known = heard.then((more) => {
    const said = (places) => [...places].sort().join();
    offers = [...offers, ...more].filter((each, n, all) => said(each) !== said(locations) && all.findIndex((one) => said(one) === said(each)) === n).slice(0, LETTERS.length);
    offer();
  }, () => {});

  /** Places that can be kept by one letter. */
  function offer() {
    fill(offered, offers.map((each, n) => button(each.join(" and ") || "no place at all", () => save(each), { key: LETTERS[n] })));
  }

  async function take(n, next) {
    await known;
    if (offers[n] && editor.isConnected) save(offers[n], next);
  }

  function toggle(base) {
    if (base === "all four") {
      const all = CORNERS.every((corner) => chosen.some(([each]) => each === corner));
      chosen = all ? [] : CORNERS.map((corner) => [corner, chosen[0]?.[1] ?? []]);
    } else if (chosen.some(([each]) => each === base)) chosen = chosen.filter(([each]) => each !== base);
    else chosen = [...chosen, [base, chosen[0]?.[1] ?? []]];
    show();
  }

  function modify(token) {
    const on = chosen.some(([, more]) => more.includes(token));
    if (!chosen.length) chosen = [["", []]];
    chosen = chosen
      .map(([base, more]) => [base, on ? more.filter((t) => t !== token) : [...more.filter((t) => t !== OPPOSITE[token]), token]])
      .filter(([base, more]) => base || more.length);
    show();
  }

  function result() {
    const order = PAD.map(([, base]) => base);
    return [...chosen].sort((a, b) => order.indexOf(a[0]) - order.indexOf(b[0])).map(([base, more]) => joined(base, more));
  }

  function key(event) {
    const digit = PAD.find(([name]) => name === event.key);
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const letter = LETTERS.indexOf(event.key.toLowerCase());
    if (digit) toggle(digit[1]);
    else if (event.key.length === 1 && letter >= 0) take(letter, event.shiftKey);
    else if (MORE[event.key]) modify(MORE[event.key]);
    else if (event.key === "0") { chosen = []; show(); }
    else if (event.key === "Enter" && !(event.target instanceof HTMLButtonElement)) save(result(), event.shiftKey);
    else if (event.key === "Escape") cancel();
    else return;
    event.preventDefault();
    event.stopPropagation();
  }

  function show() {
    const has = (base) => (base === "all four" ? CORNERS.every((c) => chosen.some(([each]) => each === c)) : chosen.some(([each]) => each === base));
    fill(
      pad,
      car(),
      el("div", { class: "cells", role: "group", "aria-label": "The car from above, its nose at the top" },
        PAD.map(([name, base]) => button(base, () => { toggle(base); editor.focus(); }, { key: name, "aria-pressed": String(has(base)) }))),
      el("div", { class: "row" },
        Object.entries(MORE).map(([name, token]) => button(token, () => { modify(token); editor.focus(); }, { key: name, "aria-pressed": String(chosen.some(([, more]) => more.includes(token))) })),
        button("no place", () => { chosen = []; show(); editor.focus(); }, { key: "0" }),
        button("Keep", () => save(result()), { key: "Enter", main: true }),
        button("Keep, next", () => save(result(), true), { key: "Shift+Enter" }),
        button("Leave", cancel, { key: "Esc" })),
    );
    told.textContent = result().join(" and ") || "no place";
  }

  show();
  offer();
  editor.focused = editor;
  return editor;
}

/** The outline of a car behind the keypad: a drawing of its own, without meaning in its lines. */
function car() {
  const svg = document.createElementNS(SVG, "svg");
  svg.setAttribute("viewBox", "0 0 120 180");
  svg.setAttribute("preserveAspectRatio", "none");
  svg.setAttribute("aria-hidden", "true");
  svg.setAttribute("class", "car");
  for (const d of ["M22 34Q26 6 60 6T98 34V146Q96 174 60 174T22 146Z", "M26 62Q60 52 94 62", "M26 118Q60 126 94 118"]) {
    const path = document.createElementNS(SVG, "path");
    path.setAttribute("d", d);
    svg.append(path);
  }
  return svg;
}
