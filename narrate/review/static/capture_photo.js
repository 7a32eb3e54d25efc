// Photos of the moment: from the phone's camera program, or a still of a camera that stays on while recording.

import { close } from "./capture_microphone.js";

export class Camera {
  constructor(video) {
    this.video = video;
    this.stream = null;
  }

  get on() {
    return this.stream !== null;
  }

  async open() {
    this.stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment", width: { ideal: 1920 } } });
    this.video.srcObject = this.stream;
    this.video.hidden = false;
    await this.video.play();
  }

  /** A still as {type, bytes}. */
  async still() {
    const canvas = document.createElement("canvas");
    canvas.width = this.video.videoWidth;
    canvas.height = this.video.videoHeight;
    canvas.getContext("2d").drawImage(this.video, 0, 0);
    const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.9));
    if (!blob) throw new Error("The camera gave no picture; take the photo by touch.");
    return { type: blob.type, bytes: await blob.arrayBuffer() };
  }

  close() {
    close(this.stream);
    this.stream = null;
    this.video.srcObject = null;
    this.video.hidden = true;
  }
}

/** Keep a photo until it is sent. */
export async function keepPhoto(kept, { key, run, at_s, type, bytes }) {
  await kept.put("photos", { key, id: crypto.randomUUID(), run, at_s, type, bytes, sent: false, changed: 0 });
}
