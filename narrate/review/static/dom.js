// Building elements without a template language: text is always text, never markup.

/** An element. `props`: attributes, `text`, or functions as `onclick`; null and false leave a thing out. */
export function el(tag, props = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(props)) {
    if (value === null || value === undefined || value === false) continue;
    if (name === "text") element.textContent = value;
    else if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false));
  return element;
}

/** A button with its key shown beside it. */
export function button(text, onclick, { key = null, main = false, ...rest } = {}) {
  return el("button", { type: "button", class: main ? "main" : null, onclick, ...rest }, text, key && el("kbd", { text: key }));
}

/** What stood in a place gives way to something else. */
export function fill(place, ...children) {
  place.replaceChildren(...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false));
}

/** Fill a place anew; who works by keyboard stays on the same control, if it is still there. */
export function refill(place, ...children) {
  const controls = () => [...place.querySelectorAll("button, input, select, a, summary, [tabindex]")];
  const before = controls();
  const at = before.indexOf(document.activeElement);
  const name = document.activeElement?.dataset?.name;
  fill(place, ...children);
  if (at < 0) return;
  const now = controls();
  const same = name ? now.find((each) => each.dataset.name === name) : now.length === before.length ? now[at] : null;
  same?.focus({ preventScroll: true });
}

/** "1 finding", "2 findings". */
export function count(number, word, more = `${word}s`) {
  return `${number} ${number === 1 ? word : more}`;
}

/** Minutes and seconds, "1:05". */
export function clock(seconds) {
  if (seconds === null || seconds === undefined) return "";
  const whole = Math.floor(seconds);
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
}
