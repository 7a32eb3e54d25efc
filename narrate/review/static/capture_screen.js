// How the recording in hand looks: one big word, the safe seconds, one big button.

import { button, clock, el, refill } from "./dom.js";
import { stateWords, troubleWords, waitingWords } from "./capture_words.js";

const place = (id) => document.getElementById(id);

/** What state the screen is in, from what the page does and what the shop's computer told. */
export function stateShown(state, capture, graceOver) {
  if (state !== "ending" || !capture || !graceOver) return state;
  return capture.state === "open" ? "sending" : capture.state;
}

/**
 * view: {state, sentence, capture, recorded_s, waiting, trouble, big: [text, act] or null, beside: [[text, act], ...]}.
 */
export function draw(view) {
  const [word, usual] = stateWords(view.state);
  place("capture").dataset.state = view.state;
  write("state", word);
  const sentence = view.sentence || view.capture?.why || usual;
  write("about", view.capture?.about ?? "");
  place("about").hidden = !view.capture?.about;
  write("sentence", sentence);
  place("sentence").hidden = !sentence;
  place("clock").hidden = !view.capture;
  write("safe", clock(view.capture?.safe_s ?? 0));
  write("waiting", waitingWords({ ...view.waiting, trouble: view.trouble === null ? "" : troubleWords(view.trouble) }));
  const big = place("big");
  big.hidden = !view.big;
  if (view.big) {
    write("big", view.big[0]);
    big.onclick = view.big[1];
  }
  const beside = [
    ...view.beside.map(([text, act]) => (typeof act === "string" ? el("a", { class: "button", href: act, text }) : button(text, act))),
    view.trouble === 401 && el("a", { class: "button main", href: "/sign-in?then=/capture", text: "Sign in" }),
  ];
  const names = beside.map((each) => each && each.textContent).join("|");
  // Only when something changed: a button that is drawn anew under a finger is not pressed.
  if (place("beside").dataset.names === names) return;
  place("beside").dataset.names = names;
  refill(place("beside"), beside);
}

function write(id, text) {
  const element = place(id);
  if (element.textContent !== text) element.textContent = text;
}
