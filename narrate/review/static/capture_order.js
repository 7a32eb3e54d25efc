// Choosing the order beforehand, by plate, number or vehicle. The list is kept, so that it is there without a network.

import { button, el, fill } from "./dom.js";
import { matching, orderLine } from "./capture_words.js";

const KEPT = "narrate-capture-orders";

export class OrderChoice {
  /** onchoose(order or null) when one is chosen. */
  constructor(onchoose) {
    this.onchoose = onchoose;
    this.place = document.getElementById("order");
    this.search = document.getElementById("order-search");
    this.find = document.getElementById("order-find");
    this.change = document.getElementById("order-change");
    this.orders = JSON.parse(localStorage.getItem(KEPT) ?? "[]");
    this.chosen = null;
    this.change.addEventListener("click", () => (this.chosen ? this.choose(null) : this.openSearch()));
    this.find.addEventListener("input", () => this.list());
    this.find.addEventListener("keydown", (event) => { if (event.key === "Enter") document.querySelector("#order-found button")?.click(); });
  }

  /** Read the orders anew; `visit` of the address is chosen if nothing else is. */
  async load(visit) {
    try {
      const answer = await fetch("/api/capture-orders");
      if (answer.status === 401) localStorage.removeItem(KEPT);
      if (answer.ok) {
        this.orders = (await answer.json()).orders;
        localStorage.setItem(KEPT, JSON.stringify(this.orders));
      }
    } catch { /* without a network the kept ones do */ }
    const asked = this.orders.find((each) => each.visit === visit);
    if (asked && !this.chosen) this.choose(asked);
    if (!this.search.hidden) this.list();
  }

  show(shown) {
    this.place.hidden = !shown;
  }

  openSearch() {
    this.search.hidden = false;
    this.find.value = "";
    this.list();
    this.find.focus();
  }

  choose(order) {
    this.chosen = order;
    this.search.hidden = true;
    document.getElementById("order-chosen").textContent = order ? orderLine(order) : "No order chosen";
    this.change.textContent = order ? "None of it" : "Choose the order";
    document.getElementById("recorded-visit").value = order?.visit ?? "";
    this.onchoose(order);
  }

  list() {
    const found = matching(this.orders, this.find.value);
    const none = this.orders.length ? "No order matches." : "No order waits; it can be chosen later, too.";
    fill(document.getElementById("order-found"), found.length
      ? found.map((each) => el("li", {}, button(orderLine(each), () => this.choose(each))))
      : el("li", { class: "soft", text: none }));
  }
}
