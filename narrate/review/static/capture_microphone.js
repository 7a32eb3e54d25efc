// The microphone itself: opened as it is, without the phone's processing, and its frames for live words.

/** Why this page cannot record, as one sentence, or null. */
export function whyUnable() {
  const other = "below you can send a recording of the phone’s own recorder.";
  if (!window.isSecureContext) return `A phone gives the microphone only to a page that it trusts, and this address is not one; ${other}`;
  if (!navigator.mediaDevices?.getUserMedia || !window.MediaRecorder || !window.AudioWorkletNode || !window.indexedDB) {
    return `This browser cannot record; ${other}`;
  }
  return null;
}

/** A stream of one microphone. `clean`: with the phone's own noise removal. Errors are sentences. */
export async function openMicrophone(clean) {
  // WebKit on Linux records nothing unless it is asked for a rate.
  const audio = { channelCount: 1, sampleRate: 48_000, echoCancellation: clean, noiseSuppression: clean, autoGainControl: clean };
  try {
    return await navigator.mediaDevices.getUserMedia({ audio });
  } catch (error) {
    throw new Error(MICROPHONE[error.name] ?? `The microphone could not be opened (${error.name}); try again, or send a recording below.`);
  }
}

const MICROPHONE = {
  NotAllowedError: "The phone does not let this page use the microphone: allow it in the browser’s settings of this page, and touch again.",
  NotFoundError: "No microphone was found: connect one, or send a recording of another device below.",
  NotReadableError: "Another program uses the microphone: end that, and touch again.",
};

export function close(stream) {
  for (const track of stream?.getTracks() ?? []) track.stop();
}

/** Give each tenth of a second of a stream to `onframe({samples, level_db})`; returns what ends that. */
export async function listen(stream, onframe) {
  let context = new AudioContext({ sampleRate: 16000 });
  let source;
  try {
    source = context.createMediaStreamSource(stream);
  } catch {
    // Firefox takes only the microphone's own rate.
    context.close();
    context = new AudioContext();
    source = context.createMediaStreamSource(stream);
  }
  await context.audioWorklet.addModule("/static/capture_worklet.js");
  const node = new AudioWorkletNode(context, "capture-frames", { numberOfInputs: 1, channelCount: 1, channelCountMode: "explicit" });
  node.port.onmessage = (event) => onframe(event.data);
  // What leads nowhere is not run everywhere; the node itself is silent.
  source.connect(node).connect(context.destination);
  const awake = () => { if (context.state !== "running" && context.state !== "closed") context.resume().catch(() => {}); };
  awake();
  document.addEventListener("visibilitychange", awake);
  return () => {
    document.removeEventListener("visibilitychange", awake);
    node.port.onmessage = null;
    return context.close();
  };
}
