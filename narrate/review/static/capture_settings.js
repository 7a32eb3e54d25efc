// Settings of this phone, kept on it.

const KEPT = "narrate-capture-settings";
const PLACES = { read_back: "read-back", silence: "silence", photos: "hands-free-photos", clean: "clean" };
const FIRST = { read_back: "asked", silence: "5", photos: false, clean: false, checked: false };

export class Settings {
  constructor() {
    this.now = { ...FIRST, ...JSON.parse(localStorage.getItem(KEPT) ?? "{}") };
    for (const [name, id] of Object.entries(PLACES)) {
      const place = document.getElementById(id);
      const field = place.type === "checkbox" ? "checked" : "value";
      place[field] = this.now[name];
      place.addEventListener("change", () => this.set(name, place[field]));
    }
  }

  set(name, value) {
    this.now[name] = value;
    localStorage.setItem(KEPT, JSON.stringify(this.now));
  }

  /** As recording takes them. */
  get recording() {
    return { clean: this.now.clean, silence_s: Number(this.now.silence) * 60 };
  }
}
