// One walk-round: holds what is shown, sends what is decided, and keeps one thing in hand.

import { actionFor } from "./acting.js";
import { get, post } from "./api.js";
import { button, clock, el, fill, refill } from "./dom.js";
import { KEYS } from "./keys.js";
import { list, progressLine } from "./list.js";
import { offers } from "./offers.js";
import { OneInHand, followAddress, listenToKeys } from "./one_in_hand.js";
import { panel } from "./panel.js";
import { picker } from "./picker.js";
import { Sound } from "./sound.js";
import { Transcript } from "./words.js";

const NEW_STEPS = ["locations", "conditions", "recommendation"];
/** The fields that a finding added by hand is asked for, one after the other. */
const FOUND_AGAIN = new Set(["edit", "cut_out"]);
/** After these what nobody decided on is found anew. */

class Page extends OneInHand {
  constructor(id) {
    super(id);
    this.all = false;
    this.dropped = false;
    this.shown = new Set();
    this.adding = null;
    this.steps = [];
    this.came = null;
    this.heard = {};
    this.spoken = { recordings: {}, edits: [] };
    this.units = {};
    this.known = [];
    this.kinds = {};
    this.videos = new Set();
    this.sound = new Sound(document.querySelector("#sound"), () => this.renderHand());
  }

  async start() {
    const [loaded, spoken, units, more] = await Promise.all([
      get(`/api/walkarounds/${this.id}`), get(`/api/walkarounds/${this.id}/words`), get("/api/units"), get(`/api/walkarounds/${this.id}/more`)]);
    this.spoken = spoken;
    this.units = units;
    this.kinds = more.kinds;
    this.videos = new Set(more.videos);
    this.view = loaded.view;
    this.undoable = loaded.undo;
    this.redoable = loaded.redo;
    this.hand = this.fromAddress() ?? this.firstBlock();
    await this.nameInstead();
    this.render();
    this.follow();
  }

  // --- what is in hand

  fromAddress() {
    const [kind, id] = decodeURIComponent(location.hash.slice(1)).split(" ");
    const lists = { finding: this.view.findings, concern: this.view.concerns, unplaced: this.view.unplaced, suggestion: this.view.suggestions, contradiction: this.view.contradictions };
    return lists[kind]?.some((each) => (each.id ?? each.about) === id) ? { kind, id } : null;
  }

  firstBlock() {
    const block = this.view.blocks[0];
    return block ? { kind: block.kind, id: block.about } : { kind: "done" };
  }

  first() { this.take(this.firstBlock()); }

  take(hand) {
    this.hand = hand;
    this.open = null;
    this.steps = [];
    this.came = null;
    this.sound.stop();
    history.replaceState(null, "", hand.id ? `#${encodeURIComponent(`${hand.kind} ${hand.id}`)}` : location.pathname);
    this.guard(() => this.nameInstead().then((learned) => learned && this.renderHand()));
    this.render();
    this.home();
  }

  /** Everything the arrow keys walk through: what blocks first, then the list. */
  get order() {
    const blocks = this.view.blocks.map((each) => ({ kind: each.kind, id: each.about }));
    const same = (one, other) => one.kind === other.kind && one.id === other.id;
    const findings = this.view.findings.filter((each) => each.review.state !== "dropped").map((each) => ({ kind: "finding", id: each.id }));
    return [...blocks, ...findings.filter((each) => !blocks.some((block) => same(block, each)))];
  }

  step(by) {
    const order = this.order;
    const at = order.findIndex((each) => each.kind === this.hand.kind && each.id === this.hand.id);
    const next = order[at < 0 ? 0 : at + by];
    this.take(next ?? { kind: "done" });
  }

  /** What comes after the thing in hand once it is decided. */
  afterHand(before) {
    const blocks = this.view.blocks.map((each) => ({ kind: each.kind, id: each.about }));
    const at = before.findIndex((each) => each.kind === this.hand.kind && each.about === this.hand.id);
    const later = before.slice(at + 1).find((each) => blocks.some((block) => block.kind === each.kind && block.id === each.about));
    return later ? { kind: later.kind, id: later.about } : blocks[0] ?? { kind: "done" };
  }

  finding(id) { return this.view.findings.find((each) => each.id === id); }
  recording(id) { return this.view.recordings.find((each) => each.id === id); }
  words(recording) { return this.spoken.recordings[recording] ?? []; }
  get thing() {
    const lists = { finding: this.view.findings, concern: this.view.concerns, unplaced: this.view.unplaced, suggestion: this.view.suggestions };
    return lists[this.hand.kind]?.find((each) => each.id === this.hand.id) ?? null;
  }

  /** The ids of the names a doubt offers instead, so that the picker can offer them at once. */
  async nameInstead() {
    const names = (this.thing?.doubts ?? []).filter((d) => d.field === "component").flatMap((d) => d.instead);
    const unknown = names.filter((name) => !this.known.some((each) => each.name === name));
    for (const name of unknown) {
      const found = await get(`/api/names/component?market=${this.view.market}&q=${encodeURIComponent(name)}`);
      this.known.push(...found.filter((each) => each.name === name));
    }
    return unknown.length > 0;
  }

  /** What else the words in hand may mean: components, places, conditions, actions and numbers to offer. */
  nearby() {
    const { kind, id } = this.hand;
    const none = { components: [], places: [], conditions: [], actions: [], numbers: [], told: null };
    if (!["finding", "unplaced"].includes(kind) || !this.thing?.evidence?.length) return Promise.resolve(none);
    const key = `${kind}/${encodeURIComponent(id)}`;
    // Other places and units are likely for another part; the rest is what was heard, and stays.
    const about = `${key} ${this.thing.component?.id ?? ""}`;
    this.heard[about] ??= get(`/api/walkarounds/${this.id}/nearby/${key}`).catch(() => { delete this.heard[about]; return none; });
    return this.heard[about];
  }

  /** Parts that were named and are in no finding. */
  unlisted() { return get(`/api/walkarounds/${this.id}/unlisted`).catch(() => []); }

  // --- deciding

  async send(asked, { next, hand }) {
    const before = this.view.blocks;
    const had = this.view.findings.map((each) => each.id);
    if (FOUND_AGAIN.has(asked.do)) this.tell("Finding again what nobody has decided …");
    const answer = await post(`/api/walkarounds/${this.id}/changes`, asked);
    this.taken(answer);
    if (FOUND_AGAIN.has(asked.do)) this.spoken = await get(`/api/walkarounds/${this.id}/words`);
    const added = this.view.findings.find((each) => !had.includes(each.id));
    if (asked.do === "add" && added) return this.startNew(added, asked);
    if (asked.do === "drop") this.tell("Dropped; u takes it back in, y says why.");
    if (hand) return this.take(hand);
    if (next || (asked.do === "answers" && this.hand.kind === "concern")) return this.take(this.afterHand(before));
    if (this.steps.length) {
      this.render();
      return this.edit(this.steps.shift(), true);
    }
    this.open = null;
    this.render();
    this.home();
  }

  /** Someone else was first: what an open editor was about to replace is not there any more. */
  async lookAgain() {
    this.open = null;
    this.steps = [];
    try {
      await this.reload();
    } catch (error) {
      this.tell(error.message, true);
    }
    this.home();
  }

  right() {
    if (this.hand.kind === "finding") {
      const finding = this.finding(this.hand.id);
      if (finding?.review.state === "unreviewed") return this.ask({ do: "confirm", findings: [finding.id] }, { next: true });
      // Just put right: on to what still waits, rather than to the neighbor in the list.
      const putRight = ["corrected", "added"].includes(finding?.review.state) && this.view.blocks.length;
      return putRight ? this.first() : this.step(1);
    }
    if (this.hand.kind === "done" && !this.view.signed && !this.view.blocks.length) return this.ask({ do: "sign" });
    return this.hand.kind === "done" ? this.first() : this.step(1);
  }

  confirmSure() {
    if (!this.view.sure.length) return;
    const sure = this.view.sure;
    const inHand = this.hand.kind === "finding" && sure.includes(this.hand.id);
    this.ask({ do: "confirm", findings: sure }, { next: inHand });
  }

  drop(finding) { this.ask({ do: "drop", finding: finding.id, why: "not said so" }, { next: true }); }

  decide(about, decided, why = null) { this.ask({ do: "decide", about, decided, why }, { next: true }); }

  /** The stretches not understood that are still open, but for the one in hand. */
  get otherStretches() {
    const open = this.view.blocks.filter((each) => each.kind === "unplaced" && each.about !== this.hand.id).map((each) => each.about);
    return this.view.unplaced.filter((each) => open.includes(each.id));
  }

  /** There is nothing in the stretch in hand, nor in any that is still open. */
  nothingInRest() {
    const rest = this.otherStretches.map((each) => each.id);
    this.ask({ do: "nothing_in", unplaced: [this.hand.id, ...rest] }, { next: true });
  }

  divide(finding) {
    const { locations } = finding;
    const half = Math.ceil(locations.length / 2);
    const parts = locations.length > 1 ? [locations.slice(0, half), locations.slice(half)] : [[], []];
    this.ask({ do: "split", finding: finding.id, parts });
  }

  // --- adding

  add(from) {
    this.adding = from;
    this.edit("add");
  }

  adder() {
    const from = this.adding ?? {};
    const stretch = from.evidence ? `“${from.said}”` : null;
    // Of a stretch: what its words may name; of none: what was named and is in no finding. Told of it comes along.
    const offered = from.unplaced ? this.nearby().then((near) => near.components.map((each) => ({ ...each, told: near.told[each.id] })))
      : from.evidence || from.suggestion ? null
        : this.unlisted().then((parts) => parts.map((each) => ({ ...each, by: each.said })));
    const add = ({ id, told, evidence }) => this.ask({
      do: "add", component: id, locations: [], status: "fault", conditions: [], action: null, ...told,
      evidence: evidence ?? from.evidence ?? null, unplaced: from.unplaced ?? null, suggestion: from.suggestion ?? null,
    });
    return this.editor(() => {
      const editor = picker({
        sort: "component", market: this.view.market, label: "Component of the new finding", cancel: this.leave, heard: offered,
        take: add,
        pick: async (match) => add({ ...match, told: from.unplaced ? (await this.nearby()).told?.[""] : null }),
      });
      if (stretch) editor.prepend(el("p", { class: "soft", text: `From ${stretch}` }));
      return editor;
    });
  }

  startNew(finding, asked) {
    this.take({ kind: "finding", id: finding.id });
    // What came with its words is looked at as a whole; only where nothing did, each field is asked for.
    if (asked.locations.length || asked.conditions.length || asked.action || asked.measurements?.length || asked.status !== "fault") return;
    const missing = { locations: !finding.locations.length, conditions: !finding.conditions.length, recommendation: !finding.recommendation.action };
    const steps = NEW_STEPS.filter((name) => missing[name]);
    if (!steps.length) return;
    this.edit(steps[0], true);
    this.steps = steps.slice(1);
  }

  // --- editors

  edit(name, keep = false) {
    if (!keep) this.steps = [];
    this.open = this.open === name && !keep ? null : name;
    if (name === "add" && this.open && !["unplaced", "suggestion", "done"].includes(this.hand.kind)) {
      this.came = this.hand;
      this.hand = { kind: "done" };
    }
    this.renderHand(true);
    if (!this.open) this.home();
  }

  /** Leave an editor unchanged; in a new finding the next field comes. */
  close() {
    if (this.steps.length) return this.edit(this.steps.shift(), true);
    this.open = null;
    // Who only began to add goes back to what was in hand.
    if (this.came && this.hand.kind === "done") this.hand = this.came;
    this.came = null;
    this.renderHand();
    this.home();
  }

  more() {
    this.all = !this.all;
    this.renderHand();
    this.home();
  }

  // --- hearing

  canPlay(piece) { return piece.start_s !== null && Boolean(this.recording(piece.recording)?.sha256); }

  listen() {
    if (this.sound.playing) return this.sound.stop();
    const pieces = (this.thing?.evidence ?? []).filter((piece) => this.canPlay(piece));
    this.play(pieces.map((piece) => ({ sha256: this.recording(piece.recording).sha256, start_s: piece.start_s, end_s: piece.end_s })));
  }

  playFrom(recording, start_s) {
    const { sha256 } = this.recording(recording) ?? {};
    if (sha256 && start_s !== null) this.play([{ sha256, start_s, end_s: null }]);
  }

  play(stretches) { this.guard(() => this.sound.play(stretches)); }

  // --- showing

  render() {
    this.renderHand();
    refill(document.querySelector("#list"), list(this));
    refill(document.querySelector("#left"), progressLine(this));
    this.renderUndo();
    this.renderSpoken();
    this.showInList();
    document.querySelector("#hand").dataset.revision = this.view.revision;
  }

  /** Bring the line of the thing in hand into view, where the list scrolls by itself; the page must not jump. */
  showInList() {
    const place = document.querySelector("#list");
    const line = place.querySelector("[aria-current]");
    if (!line || place.scrollHeight <= place.clientHeight) return;
    const [top, bottom] = [line.offsetTop - place.offsetTop, line.offsetTop - place.offsetTop + line.offsetHeight];
    if (top < place.scrollTop) place.scrollTop = top;
    else if (bottom > place.scrollTop + place.clientHeight) place.scrollTop = bottom - place.clientHeight;
  }

  panel() { return panel(this.hand, this); }
  sheetRows() { return KEYS; }

  renderSpoken() {
    const place = document.querySelector("#spoken");
    if (!place.open) return;
    const used = {};
    for (const finding of this.view.findings.filter((each) => each.review.state !== "dropped")) {
      for (const piece of finding.evidence) {
        used[piece.recording] ??= new Set();
        for (let n = piece.first_word; n <= piece.last_word; n += 1) used[piece.recording].add(n);
      }
    }
    const marked = Object.fromEntries((this.transcripts ?? []).map((each) => [each.id, each]));
    this.transcripts = this.view.recordings.map((recording) => new Transcript({
      id: recording.id, words: this.words(recording.id), used: used[recording.id] ?? new Set(),
      edits: this.spoken.edits.filter((each) => each.recording === recording.id),
      play: (start_s) => this.playFrom(recording.id, start_s),
      choose: (first, last) => this.choose(recording.id, first, last),
      cut: (first, last) => this.cutOut(recording.id, first, last),
      marked: marked[recording.id],
    }));
    refill(place.querySelector("div"), this.transcripts.map((each, n) => [
      el("h3", { text: this.view.recordings[n].name }),
      this.view.recordings[n].notices.map((text) => el("p", { class: "notice", text })),
      this.view.commands.filter((told) => told.recording === each.id && told.came_of_it)
        .map((told) => el("p", { class: "soft", text: `At ${clock(told.start_s ?? 0)} narrate was told something${told.said ? ` (“${told.said}”)` : ""}: ${told.came_of_it}` })),
      el("p", { class: "soft", text: "Mark a stretch: touch its first and its last word, draw over it, or use the arrow keys with Shift." }), each.element,
      el("div", { class: "row" },
        button("Make a finding of the marked words", () => this.choose(this.view.recordings[n].id, ...each.stretch), { key: "Enter" }),
        button("Listen from there", () => this.playFrom(this.view.recordings[n].id, each.words[each.stretch[0]]?.[1] ?? null), { key: "Space" }),
        button("Cut the marked words out", () => this.cutOut(this.view.recordings[n].id, ...each.stretch), { key: "Delete", title: "Bystanders' talk: neither the words nor their sound leave the shop" }),
        button("Another vehicle begins here", () => this.splitAt(this.view.recordings[n].id, each.stretch[0])))]));
  }

  choose(recording, first_word, last_word) {
    const said = this.words(recording).slice(first_word, last_word + 1).map(([text]) => text).join(" ");
    if (this.hand.kind !== "done") this.came = this.hand;
    this.hand = { kind: "done" };
    this.open = null;
    this.add({ evidence: { recording, first_word, last_word }, said });
    document.querySelector("#hand").scrollIntoView({ block: "start" });
  }

  /** Bystanders' talk: it stays out of the list and of all that leaves the shop. */
  cutOut(recording, first_word, last_word) {
    return this.ask({ do: "cut_out", recording, first_word, last_word });
  }

  offers() {
    const place = el("div");
    offers(this.id, place, this);
    return place;
  }

  async splitAt(recording, first_word) {
    await this.guard(async () => {
      const { other } = await post(`/api/walkarounds/${this.id}/split`, { recording, first_word });
      await this.reload();
      this.tell(`The second vehicle is a walk-round of its own now: ${other}.`);
    });
  }

  toggle(name) {
    if (this.shown.has(name)) this.shown.delete(name);
    else this.shown.add(name);
    refill(document.querySelector("#list"), list(this));
  }

  // --- undoing, and what others do

  back(which) {
    const on = document.querySelector("#undo").contains(document.activeElement);
    this.inTurn(async () => {
      this.taken(await post(`/api/walkarounds/${this.id}/${which}`));
      this.spoken = await get(`/api/walkarounds/${this.id}/words`);
      this.open = null;
      this.steps = [];
      this.render();
      if (!on || document.activeElement === document.body) this.home();
    });
  }

  async reload() {
    const loaded = await get(`/api/walkarounds/${this.id}`);
    // An answer that was on its way while a change was made is older than what is shown.
    if (loaded.view.revision < this.view.revision) return;
    const changed = loaded.view.revision !== this.view.revision;
    this.view = loaded.view;
    this.undoable = loaded.undo;
    this.redoable = loaded.redo;
    if (changed) this.spoken = await get(`/api/walkarounds/${this.id}/words`);
    this.render();
  }

  follow() {
    const live = new EventSource(`/api/walkarounds/${this.id}/live`);
    live.onmessage = async (event) => {
      await this.sending;
      if (Number(event.data) <= this.view.revision) return;
      await this.guard(async () => {
        await this.reload();
        this.tell(this.redoable ? "A change was taken back elsewhere." : `Changed by ${this.undoable?.who}: ${this.undoable?.what}.`);
      });
    };
  }
}

const page = new Page(document.body.dataset.walkaround ?? document.querySelector("#hand").dataset.walkaround);
page.guard(() => page.start());
listenToKeys(page, actionFor);
followAddress(page);
document.querySelector("#spoken").addEventListener("toggle", () => page.renderSpoken());
