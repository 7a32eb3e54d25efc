// What goes on beside recording: live words and findings, commands spoken and touched, questions, photos.

import { Found } from "./capture_found.js";
import { Live } from "./capture_live.js";
import { Marks } from "./capture_marks.js";
import { Camera, keepPhoto } from "./capture_photo.js";
import { button, fill } from "./dom.js";

const place = (id) => document.getElementById(id);
const LOCAL_ONLY = "Live words are not there at the moment, so this cannot be said; everything is recorded all the same.";

export class Listening {
  constructor({ kept, sender, flow, aloud, settings, tell }) {
    Object.assign(this, { kept, sender, flow, aloud, settings, tell });
    this.live = null;
    this.found = new Found({ words: place("words"), findings: place("findings"), state: place("live-state") });
    this.marks = new Marks({ kept, last: place("marks"), before: place("marks-before"), tell: (message) => this.live?.send(message), onkept: () => sender.wake() });
    this.camera = new Camera(place("camera"));
    for (const each of document.querySelectorAll("[data-command]")) {
      each.addEventListener("click", () => this.touched(each.dataset.command));
    }
    place("photo").addEventListener("change", () => this.photosChosen());
  }

  get mode() {
    return this.settings.now.read_back;
  }

  /** A run began (or ended: null). */
  async follow(run) {
    this.live?.close();
    this.live = null;
    fill(place("question"));
    place("question").hidden = true;
    if (!run) {
      this.camera.close();
      this.aloud.hush();
      return;
    }
    if (this.marks.key !== run.key) this.found.clear();
    await this.marks.show(run.key);
    const begin = () => ({ run: run.run, at_s: run.at_s, visit: this.flow.visit, read_back: this.mode });
    this.live = new Live({ key: run.key, begin, onmessage: (message) => this.heard(message), onstate: (state, why) => this.liveState(state, why) });
    if (this.settings.now.photos) this.camera.open().catch(() => this.tell("The camera could not be opened: photos need a touch."));
  }

  frame({ samples }) {
    this.live?.frame(samples);
  }

  speaking(now) {
    if (this.live) this.live.muted = now;
  }

  liveState(state, why) {
    this.found.state(state === "on" ? "" : `Live words are not there${why ? ` (${why})` : ""}. Everything is recorded; the list is made of the whole.`);
  }

  heard(message) {
    const act = this[`heard_${message.type}`];
    if (act) act.call(this, message);
  }

  heard_words(message) {
    this.flow.heard();
    this.found.words(message);
  }

  heard_findings(message) {
    const fresh = this.found.findings(message);
    if (fresh.length && this.mode !== "never") this.aloud.tone("finding");
    this.flow.onstate();
  }

  heard_say({ text, why }) {
    // A question has its own place, and what was read back stands in the list.
    if (why === "left") this.tell(text);
    if (this.mode !== "never") this.aloud.say(text);
  }

  heard_question({ text, answers = [] }) {
    place("question").hidden = false;
    fill(place("question"), text, answers.map((value) => button(value, () => this.answer(value))));
    if (this.mode !== "never") this.aloud.tone("question");
  }

  answer(value) {
    this.live?.send({ type: "answer", value });
  }

  heard_answered(message) {
    place("question").hidden = true;
    fill(place("question"));
    this.tell(message.text);
    if (message.mark) this.keep({ ...message.mark, what: "answer", about: message.text });
  }

  heard_behind({ s }) {
    this.found.state(`Live words are ${Math.round(s)} seconds behind; recording is not.`);
  }

  /** A command was spoken, or the helper tells what came of a touched one. */
  async heard_command({ type, command, ...rest }) {
    const known = this.marks.rows.some((each) => each.id === rest.id);
    await this.keep({ ...rest, what: command });
    if (known) return;
    if (this.mode !== "never") this.aloud.tone("command");
    this.act(command, true);
  }

  /** A button: kept at once, whether or not the helper is there to hear of it. */
  async touched(command) {
    if (!this.flow.run) return;
    const id = crypto.randomUUID();
    const told = this.live?.ready && this.live.send({ type: "command", command, id });
    if (command === "photograph" && !this.camera.on) return place("photo").click();
    const last = command === "take_back" ? this.found.last : null;
    const about = last && { about: last.line, about_start_s: last.start_s, about_end_s: last.end_s };
    await this.keep({ id, what: command, at_s: this.flow.run.at_s, ...about });
    if (!told && ["read_back", "whats_left"].includes(command)) this.tell(LOCAL_ONLY);
    this.act(command, false);
  }

  act(command, spoken) {
    if (command === "done" && spoken) this.flow.end();
    if (command === "photograph") this.still();
  }

  async still() {
    if (!this.camera.on) return this.tell("Photo: touch “Photo” to take it.");
    try {
      await this.keepPhoto(await this.camera.still());
    } catch (error) {
      this.tell(error.message);
    }
  }

  async photosChosen() {
    const input = place("photo");
    for (const file of input.files) await this.keepPhoto({ type: file.type, bytes: await file.arrayBuffer() });
    input.value = "";
  }

  async keepPhoto(photo) {
    const { run } = this.flow;
    if (!run) return this.tell("The photo was not kept: nothing was being recorded just then. Take it again.");
    await keepPhoto(this.kept, { key: run.key, run: run.run, at_s: run.at_s, ...photo });
    this.tell("The photo is kept with this moment.");
    this.sender.wake();
  }

  /** A mark of the run that is being recorded. */
  keep(mark) {
    const { run } = this.flow;
    return this.marks.add({ run: run?.run ?? 0, ...mark });
  }
}
