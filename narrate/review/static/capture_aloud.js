// What is heard from the phone: short tones, and sentences by its own voice where it has one.

const TONES = {
  start: [[523, 0.12], [784, 0.18]],
  stop: [[784, 0.12], [523, 0.18]],
  finding: [[880, 0.07]],
  command: [[659, 0.07], [880, 0.07]],
  question: [[659, 0.1], [659, 0.1]],
  warn: [[440, 0.15], [440, 0.15], [440, 0.15]],
};
const PAUSE_S = 0.03;
const LOUD = 0.25;

export class Aloud {
  /** onspeaking(bool): the phone begins or ends to speak. */
  constructor(onspeaking) {
    this.onspeaking = onspeaking;
    this.context = null;
    this.waiting = 0;
  }

  /** To be called within a touch: phones let a page be heard only after one. */
  unlock() {
    this.context ??= new AudioContext();
    this.context.resume().catch(() => {});
    if (this.hasVoice && !speechSynthesis.speaking) speechSynthesis.speak(new SpeechSynthesisUtterance(""));
  }

  get hasVoice() {
    return "speechSynthesis" in window;
  }

  /** Play a tone; returns its seconds. */
  tone(kind) {
    if (!this.context) return 0;
    let at = this.context.currentTime + 0.01;
    const began = at;
    for (const [pitch, seconds] of TONES[kind]) {
      const source = new OscillatorNode(this.context, { frequency: pitch });
      const gain = new GainNode(this.context, { gain: 0 });
      gain.gain.setValueAtTime(0, at);
      gain.gain.linearRampToValueAtTime(LOUD, at + 0.01);
      gain.gain.setValueAtTime(LOUD, at + seconds - 0.02);
      gain.gain.linearRampToValueAtTime(0, at + seconds);
      source.connect(gain).connect(this.context.destination);
      source.start(at);
      source.stop(at + seconds);
      at += seconds + PAUSE_S;
    }
    return at - began;
  }

  /** Say a sentence, after those that are being said. */
  say(text) {
    if (!this.hasVoice || !text) return;
    const said = new SpeechSynthesisUtterance(text);
    said.lang = document.documentElement.lang;
    let over = false;
    const end = () => {
      if (over) return;
      over = true;
      clearTimeout(most);
      this.waiting -= 1;
      if (!this.waiting) this.onspeaking(false);
    };
    // A phone without voices never says that it has ended.
    const most = setTimeout(end, 3000 + 120 * text.length);
    said.onend = end;
    said.onerror = end;
    this.waiting += 1;
    this.onspeaking(true);
    speechSynthesis.speak(said);
  }

  hush() {
    if (this.hasVoice) speechSynthesis.cancel();
  }
}
