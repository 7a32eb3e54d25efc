// Five seconds of the microphone, judged by the shop's computer in plain sentences.

import { close, listen, openMicrophone } from "./capture_microphone.js";
import { wave } from "./capture_pcm.js";

const FRAMES = 50;

/** The sentences about this microphone; `progress(seconds left)` while it listens. */
export async function checkMicrophone({ clean, progress }) {
  const frames = [];
  const stream = await openMicrophone(clean);
  let end;
  try {
    await new Promise((done, fail) => {
      const most = setTimeout(() => fail(new Error("The microphone gives no sound; close the page, open it again and try once more.")), 15_000);
      listen(stream, ({ samples }) => {
        frames.push(samples);
        progress(Math.ceil((FRAMES - frames.length) / 10));
        if (frames.length === FRAMES) { clearTimeout(most); done(); }
      }).then((stop) => { end = stop; }, fail);
    });
  } finally {
    await end?.();
    close(stream);
  }
  const options = { method: "POST", headers: { "Content-Type": "audio/wav" }, body: wave(frames.slice(0, FRAMES)) };
  let answer;
  try {
    answer = await fetch("/api/microphone-check", options);
  } catch {
    throw new Error("The shop’s computer is not reached, so the microphone could not be judged; recording works all the same.");
  }
  const body = await answer.json().catch(() => ({}));
  if (!answer.ok) throw new Error(body.detail ?? `The microphone could not be judged (${answer.status}); recording works all the same.`);
  return body;
}
