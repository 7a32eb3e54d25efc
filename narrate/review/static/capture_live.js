// The live connection: frames out, words and findings in. Recording does not depend on it.

import { waitAfter } from "./capture_words.js";

/** Bytes that may wait to be sent, ten seconds of sound; behind that the connection is begun anew. */
const MOST_WAITING = 320_000;

export class Live {
  /** begin() gives {run, at_s, visit, read_back} of this moment; onmessage(message); onstate("off" | "trying" | "on", why). */
  constructor({ key, begin, onmessage, onstate }) {
    Object.assign(this, { key, begin, onmessage, onstate });
    this.socket = null;
    this.ready = false;
    this.failures = 0;
    this.closed = false;
    /** While the phone itself speaks its own voice must not be taken for the technician's: silence is sent instead. */
    this.muted = false;
    this.open();
  }

  open() {
    this.onstate("trying", "");
    const socket = new WebSocket(`${location.origin.replace("http", "ws")}/api/captures/${this.key}/live`);
    socket.binaryType = "arraybuffer";
    this.socket = socket;
    socket.onopen = () => this.send({ type: "begin", ...this.begin() });
    socket.onmessage = ({ data }) => this.took(JSON.parse(data));
    socket.onclose = () => {
      if (socket !== this.socket || this.closed) return;
      this.lost("");
    };
  }

  took(message) {
    if (message.type === "ready") {
      this.ready = true;
      this.failures = 0;
      this.onstate("on", "");
    } else if (message.type === "unavailable") {
      this.ready = false;
      this.onstate("off", message.why ?? "");
    } else this.onmessage(message);
  }

  lost(why) {
    this.ready = false;
    this.socket.onclose = null;
    this.socket.close();
    this.failures += 1;
    this.onstate("off", why);
    this.again = setTimeout(() => this.open(), waitAfter(this.failures) * 1000);
  }

  /** A frame of 1600 samples. */
  frame(samples) {
    if (!this.ready || this.socket.readyState !== WebSocket.OPEN) return;
    if (this.socket.bufferedAmount > MOST_WAITING) return this.lost("The network is too slow for live words.");
    this.socket.send(this.muted ? new Int16Array(samples.length) : samples);
  }

  /** Whether a message was handed on. */
  send(message) {
    if (this.socket?.readyState !== WebSocket.OPEN) return false;
    this.socket.send(JSON.stringify(message));
    return true;
  }

  close() {
    this.closed = true;
    this.ready = false;
    clearTimeout(this.again);
    this.socket?.close();
  }
}
