// How long nobody has spoken, from the loudness of short stretches; without a device, so that it can be tested.

const OVER_FLOOR_DB = 9;
const RISE_DB_PER_S = 0.5;
const QUIETEST_DB = -70;
const SPOKEN_S = 0.3;

/**
 * A shop is never silent: speech is what stands out over the floor of the last while. The floor falls at once and
 * rises slowly, so that a compressor that starts becomes floor within a minute.
 */
export class Hush {
  constructor() {
    this.floor = null;
    this.loud_s = 0;
    this.quiet_s = 0;
  }

  /** Take in one stretch: its loudness in dB of full scale and its seconds. Returns the seconds without speech. */
  feed(level_db, seconds) {
    const level = Math.max(level_db, QUIETEST_DB);
    this.floor = this.floor === null ? level : Math.min(level, this.floor + RISE_DB_PER_S * seconds);
    // One short knock is no speech.
    this.loud_s = level > this.floor + OVER_FLOOR_DB ? this.loud_s + seconds : Math.max(0, this.loud_s - seconds);
    this.loud_s = Math.min(this.loud_s, 2 * SPOKEN_S);
    this.quiet_s = this.loud_s >= SPOKEN_S ? 0 : this.quiet_s + seconds;
    return this.quiet_s;
  }

  /** Somebody was understood, or touched the phone. */
  heard() {
    this.quiet_s = 0;
  }
}

/** What to do after so many seconds without speech: "go", "warn" or "stop". */
export function afterQuiet(quiet_s, limit_s, warn_s = 30) {
  if (quiet_s >= limit_s) return "stop";
  return quiet_s >= limit_s - warn_s ? "warn" : "go";
}
