// Runs beside the sound itself: hands on frames for live words, however busy the page is.

import { Framing } from "./capture_pcm.js";

class Frames extends AudioWorkletProcessor {
  constructor() {
    super();
    this.framing = new Framing(sampleRate);
  }

  process([input]) {
    if (input[0]) {
      for (const { samples, level_db } of this.framing.feed(input[0])) {
        this.port.postMessage({ samples, level_db }, [samples.buffer]);
      }
    }
    return true;
  }
}

registerProcessor("capture-frames", Frames);
