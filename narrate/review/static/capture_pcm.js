// Samples made smaller for live words: 16 000 whole numbers a second, in frames of a tenth of a second. Pure.

export const RATE = 16000;
export const FRAME = 1600;

/** Turns samples at any rate into frames of 1600 whole numbers at 16 000 a second, by averaging what falls together. */
export class Framing {
  constructor(rate) {
    this.step = rate / RATE;
    this.frame = new Int16Array(FRAME);
    this.filled = 0;
    this.sum = 0;
    this.weight = 0;
  }

  /** Take samples (-1 to 1); returns the frames that became full, each with its loudness in dB of full scale. */
  feed(samples) {
    const full = [];
    for (const sample of samples) {
      let left = 1;
      // A sample may belong to this number and to the next one (or, at low rates, to several).
      while (left > 1e-9) {
        const part = Math.min(left, this.step - this.weight);
        this.sum += sample * part;
        this.weight += part;
        left -= part;
        if (this.weight >= this.step - 1e-9) this.next(full);
      }
    }
    return full;
  }

  next(full) {
    const value = Math.max(-1, Math.min(1, this.sum / this.weight));
    this.frame[this.filled] = Math.round(value * (value < 0 ? 32768 : 32767));
    this.sum = 0;
    this.weight = 0;
    this.filled += 1;
    if (this.filled < FRAME) return;
    full.push({ samples: this.frame, level_db: loudness(this.frame) });
    this.frame = new Int16Array(FRAME);
    this.filled = 0;
  }
}

/** Root mean square of whole numbers, in dB of full scale. */
export function loudness(samples) {
  let sum = 0;
  for (const each of samples) sum += each * each;
  return 20 * Math.log10(Math.max(1e-6, Math.sqrt(sum / samples.length) / 32768));
}

/** Frames as one WAV file (mono, 16 bit, 16 000 a second). */
export function wave(frames) {
  const count = frames.reduce((sum, each) => sum + each.length, 0);
  const file = new DataView(new ArrayBuffer(44 + 2 * count));
  const text = (at, letters) => [...letters].forEach((letter, number) => file.setUint8(at + number, letter.charCodeAt(0)));
  text(0, "RIFF");
  file.setUint32(4, 36 + 2 * count, true);
  text(8, "WAVEfmt ");
  file.setUint32(16, 16, true);
  file.setUint16(20, 1, true);
  file.setUint16(22, 1, true);
  file.setUint32(24, RATE, true);
  file.setUint32(28, 2 * RATE, true);
  file.setUint16(32, 2, true);
  file.setUint16(34, 16, true);
  text(36, "data");
  file.setUint32(40, 2 * count, true);
  let at = 44;
  for (const frame of frames) for (const each of frame) { file.setInt16(at, each, true); at += 2; }
  return file.buffer;
}
