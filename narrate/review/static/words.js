// The words as heard: a quote with what was unsure marked, and everything that was said, to pick a stretch from.

import { clock, el } from "./dom.js";

const UNSURE = 0.5;
const AROUND = 4;

/** One heard word; unsure ones are underlined with dots and say how sure they are. */
function word([text, start_s, , probability], number, play) {
  const unsure = probability !== null && probability < UNSURE;
  return el(
    "span",
    {
      class: unsure ? "word unsure" : "word",
      title: unsure ? `heard with ${Math.round(probability * 100)} % certainty` : null,
      "data-word": number,
      onclick: play && start_s !== null ? () => play(start_s) : null,
    },
    text,
  );
}

function spaced(spans) {
  return spans.flatMap((span, place) => (place ? [" ", span] : [span]));
}

/** The words of one piece of evidence, with a few before and after it. play(start_s) plays from there on. */
export function quote(piece, words, play) {
  const from = Math.max(0, piece.first_word - AROUND);
  const to = Math.min(words.length - 1, piece.last_word + AROUND);
  const spans = [];
  for (let number = from; number <= to; number += 1) {
    const span = word(words[number], number, play);
    if (number < piece.first_word || number > piece.last_word) span.classList.add("around");
    spans.push(span);
  }
  return el("blockquote", { class: "quote" }, piece.start_s === null ? null : el("small", { class: "soft", text: `${clock(piece.start_s)} ` }), spaced(spans));
}

/** Everything said in a recording. choose(first, last) is called when a stretch is picked, by mouse, touch or key. */
export class Transcript {
  constructor({ id, words, used, edits, play, choose, cut, marked }) {
    this.id = id;
    this.words = words;
    this.choose = choose;
    this.cut = cut;
    this.play = play;
    this.anchor = marked?.anchor ?? 0;
    this.at = marked?.at ?? 0;
    this.begun = marked?.begun ?? false;
    this.element = el("p", {
      class: "transcript",
      tabindex: "0",
      role: "listbox",
      "aria-multiselectable": "true",
      "aria-label": "Everything that was said. Arrow keys move, with Shift they mark a stretch, Enter makes a finding of it, Delete cuts it out.",
      onkeydown: (event) => this.key(event),
      onpointerup: (event) => this.marked(event),
    });
    this.spans = words.map((each, number) => {
      const span = word(each, number, null);
      span.setAttribute("role", "option");
      span.id = `${id}-word-${number}`;
      if (!used.has(number)) span.classList.add("unused");
      return span;
    });
    for (const edit of edits) {
      for (let number = edit.first_word; number <= edit.last_word; number += 1) this.spans[number]?.classList.add("replaced");
      this.spans[edit.last_word]?.append(el("ins", { class: "edit", text: ` ${edit.text || (edit.cut ? "(cut out)" : "(taken out)")}` }));
    }
    this.element.append(...spaced(this.spans));
    this.show();
  }

  key(event) {
    const step = { ArrowRight: 1, ArrowLeft: -1, ArrowDown: 12, ArrowUp: -12 }[event.key];
    if (step !== undefined) {
      this.at = Math.min(Math.max(0, this.at + step), this.words.length - 1);
      if (!event.shiftKey) this.anchor = this.at;
      this.show();
    } else if (event.key === "Enter") {
      this.choose(Math.min(this.anchor, this.at), Math.max(this.anchor, this.at));
    } else if (event.key === "Delete") {
      this.cut(...this.stretch);
    } else if (event.key === " ") {
      this.play(this.words[Math.min(this.anchor, this.at)][1]);
    } else return;
    event.preventDefault();
    event.stopPropagation();
  }

  /** A stretch was marked with the pointer, or a word touched: the first touch begins a stretch, the second ends it. */
  marked(event) {
    const number = (node) => Number((node instanceof Element ? node : node?.parentElement)?.closest("[data-word]")?.dataset.word ?? NaN);
    const selection = window.getSelection();
    const ends = [number(selection.anchorNode), number(selection.focusNode)];
    const at = number(event.target);
    if (!selection.isCollapsed && !ends.some(Number.isNaN)) {
      [this.anchor, this.at] = ends;
      this.begun = false;
      selection.removeAllRanges();
    } else if (Number.isNaN(at)) return;
    else {
      this.begun = !(this.begun || event.shiftKey);
      if (this.begun) this.anchor = at;
      this.at = at;
    }
    this.show();
  }

  show() {
    const [from, to] = [Math.min(this.anchor, this.at), Math.max(this.anchor, this.at)];
    this.spans.forEach((span, number) => {
      const inside = number >= from && number <= to;
      span.classList.toggle("chosen", inside);
      span.setAttribute("aria-selected", String(inside));
    });
    if (this.spans.length) {
      this.element.setAttribute("aria-activedescendant", `${this.id}-word-${this.at}`);
      if (this.element === document.activeElement) this.spans[this.at].scrollIntoView({ block: "nearest" });
    }
  }

  get stretch() {
    return [Math.min(this.anchor, this.at), Math.max(this.anchor, this.at)];
  }
}
