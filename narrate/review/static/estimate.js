// One estimate: holds what is shown, sends what is changed, and keeps one job in hand.

import { get, post } from "./api.js";
import { button, count, refill } from "./dom.js";
import { actionFor, keys } from "./estimate_keys.js";
import { list, sums } from "./estimate_list.js";
import { panel } from "./estimate_panel.js";
import { OneInHand, followAddress, listenToKeys } from "./one_in_hand.js";

class Page extends OneInHand {
  constructor(id) {
    super(id);
    this.line = 0;
    this.answer = null;
  }

  async start() {
    this.taken(await get(`/api/estimates/${this.id}`));
    this.hand = this.fromAddress() ?? this.first();
    this.render();
    this.follow();
  }

  // --- what is in hand

  get things() {
    const priced = this.view.to_be_priced.map((each) => ({ kind: "price", id: each.id }));
    return [...priced, ...this.view.jobs.map((each) => ({ kind: "job", id: each.id })), { kind: "done" }];
  }

  fromAddress() {
    const [kind, id] = decodeURIComponent(location.hash.slice(1)).split(" ");
    return this.things.find((each) => each.kind === kind && (each.id ?? "") === (id ?? "")) ?? (kind === "answer" ? { kind } : null);
  }

  first() { return this.things[0]; }
  get job() { return this.hand.kind === "job" ? this.view.jobs.find((each) => each.id === this.hand.id) : null; }
  get choice() { return this.job?.choices.find((each) => each.id === this.job.chosen) ?? null; }
  get lines() { return this.choice?.lines ?? []; }

  take(hand) {
    this.hand = hand;
    this.line = 0;
    this.open = null;
    const name = [hand.kind, hand.id].filter(Boolean).join(" ");
    history.replaceState(null, "", `#${encodeURIComponent(name)}`);
    this.render();
    this.home();
  }

  /** What is obviously next: the job after this one; of the whole, what has no price, then the customer. */
  forward() {
    if (this.hand.kind !== "done") return this.step(1);
    if (this.view.to_be_priced.length) return this.take(this.first());
    if (!this.view.draft && this.view.unanswered.length) return this.take({ kind: "answer" });
  }

  step(by) {
    const at = this.things.findIndex((each) => each.kind === this.hand.kind && each.id === this.hand.id);
    const next = this.things[at < 0 ? this.things.length - 1 : at + by];
    if (next) this.take(next);
  }

  stepLine(by) {
    if (!this.lines.length) return;
    this.line = (this.line + by + this.lines.length) % this.lines.length;
    this.renderHand();
  }

  // --- changing

  async send(asked, { next = false, hand = null } = {}) {
    const had = this.view.jobs.map((each) => each.id);
    const answer = await post(`/api/estimates/${this.id}/${asked.do === "outcome" ? "outcomes" : "changes"}`, asked);
    this.open = null;
    this.taken(answer);
    const added = this.view.jobs.find((each) => !had.includes(each.id));
    if (hand) return this.take(hand);
    if (["add_job", "price"].includes(asked.do) && added) return this.take({ kind: "job", id: added.id });
    if (next || !this.things.some((each) => each.kind === this.hand.kind && each.id === this.hand.id)) return this.take(this.first());
    this.line = Math.min(this.line, Math.max(this.lines.length - 1, 0));
    if (asked.do === "add_line") this.line = this.lines.length - 1;
    this.render();
    this.home();
  }

  taken(answer) {
    super.taken(answer);
    this.behind = answer.behind;
    this.before = answer.before ?? [];
  }

  async lookAgain(error) {
    this.open = null;
    await this.reload().catch((again) => this.tell(again.message, true));
    this.tell(error.message, true);
    this.home();
  }

  back(which) {
    this.inTurn(async () => {
      this.taken(await post(`/api/estimates/${this.id}/${which}`));
      this.open = null;
      if (!this.things.some((each) => each.kind === this.hand.kind && each.id === this.hand.id)) this.hand = this.first();
      this.render();
      this.home();
    });
  }

  // --- editors

  edit(name) {
    this.open = this.open === name ? null : name;
    this.renderHand(true);
    if (!this.open) this.home();
  }

  close() {
    this.open = null;
    this.renderHand();
    this.home();
  }

  // --- showing

  render() {
    this.renderHand();
    refill(document.querySelector("#list"), list(this));
    refill(document.querySelector("#sums"), sums(this));
    refill(document.querySelector("#left"), this.progress());
    this.renderUndo();
    document.querySelector("#hand").dataset.revision = this.view.revision;
  }

  progress() {
    const waiting = this.view.to_be_priced.length;
    const texts = [waiting ? `${waiting} to be priced` : "", count(this.view.jobs.length, "job"), this.view.total].filter(Boolean);
    return [
      `${texts.join(" – ")}${this.view.draft ? " – draft" : ""}`,
      waiting && this.hand.kind !== "price" ? button("To what has no price", () => this.take(this.first())) : null,
    ];
  }

  panel() { return panel(this.hand, this); }
  sheetRows() { return keys(); }

  // --- what others do

  async reload() {
    const loaded = await get(`/api/estimates/${this.id}`);
    if (loaded.view.revision < this.view.revision) return;
    this.taken(loaded);
    if (!["answer"].includes(this.hand.kind) && !this.things.some((each) => each.kind === this.hand.kind && each.id === this.hand.id)) this.hand = this.first();
    this.render();
  }

  follow() {
    const live = new EventSource(`/api/estimates/${this.id}/live`);
    live.onmessage = async (event) => {
      await this.sending;
      if (Number(event.data) <= this.view.revision) return;
      const before = JSON.stringify(this.view.jobs) + this.view.total;
      await this.guard(async () => {
        await this.reload();
        // A paper that was shown is an event too, and changes nothing here.
        if (JSON.stringify(this.view.jobs) + this.view.total !== before) this.tell(`Changed by ${this.undoable?.who ?? "someone else"}: ${this.undoable?.what ?? "look again"}.`);
      });
    };
  }
}

const page = new Page(document.querySelector("#hand").dataset.estimate);
page.guard(() => page.start());
listenToKeys(page, actionFor);
followAddress(page);
