// What the page says, and small decisions without any device: all pure functions.

/** Kinds of sound in the order in which they are wanted; the store joins each without coding it anew. */
export const KINDS = ["audio/webm;codecs=opus", "audio/mp4;codecs=opus", "audio/mp4", "audio/webm"];

/** The first kind that a phone can record, or null. */
export function bestKind(isSupported) {
  return KINDS.find((each) => isSupported(each)) ?? null;
}

/** Seconds to wait before trying again, after so many failures in a row. */
export function waitAfter(failures) {
  return Math.min(5, 0.5 * 2 ** Math.max(0, Math.min(failures, 6) - 1));
}

/** 128 random bits as 32 hex digits. */
export function newKey(random = crypto) {
  return [...random.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** Bytes as hex digits. */
export function hex(buffer) {
  return [...new Uint8Array(buffer)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

const STATES = {
  opening: ["Opening", ""],
  elsewhere: ["Open elsewhere", "Recording is open in another tab of this phone: go there, or close it."],
  unable: ["Cannot record here", ""],
  ready: ["Ready", ""],
  asking: ["One moment", "The phone asks whether it may use the microphone: allow it."],
  recording: ["Recording", ""],
  paused: ["Paused", ""],
  ending: ["Ending", "In a few seconds the list is made of it."],
  sending: ["Sending", "Keep this page open until all of it is safe."],
  joining: ["All safe", "The recording is being put together."],
  queued: ["All safe", "The list is being made. The phone can go back into the pocket."],
  done: ["List ready", ""],
  empty: ["Nothing recorded", ""],
  lacking: ["Not complete", ""],
  failed: ["All safe", "The shop’s computer could not finish this by itself; an advisor can. Nothing of it is lost."],
};

/** [big word, sentence] of a state. */
export function stateWords(state) {
  return STATES[state] ?? [state, ""];
}

/** What still waits on the phone, beside the safe seconds. */
export function waitingWords({ pieces = 0, waiting_s = 0, photos = 0, trouble = "" }) {
  const seconds = Math.round(waiting_s);
  const parts = [];
  if (pieces) parts.push(`${seconds < 1 ? "under a second" : seconds === 1 ? "1 second" : `${seconds} seconds`} still on this phone`);
  if (photos) parts.push(photos === 1 ? "1 photo still on this phone" : `${photos} photos still on this phone`);
  if (!parts.length) return "";
  return `${parts.join(", ")}${trouble ? `. ${trouble}` : ""}`;
}

/** One sentence for why nothing can be sent at the moment. */
export function troubleWords(status) {
  if (status === 401) return "Sign in, so that it can be sent.";
  if (status === 403) return "Whoever is signed in here may not send it.";
  if (!status) return "The shop’s computer is not reached; it is tried again.";
  return "The shop’s computer does not take it at the moment; it is tried again.";
}

/** An order in a line: plate, number, vehicle. */
export function orderLine(order) {
  return [order.plate, order.vehicle, order.number && `order ${order.number}`].filter(Boolean).join(", ") || "order without a number";
}

/** The orders that match what was typed: each word in plate (letters and digits alone), number or vehicle. */
export function matching(orders, typed, most = 6) {
  const bare = (text) => text.toLowerCase().replace(/[^\p{L}\p{N}]/gu, "");
  const words = typed.split(/\s+/).map(bare).filter(Boolean);
  return orders
    .filter((each) => words.every((word) => [each.plate, each.number, each.vehicle].some((text) => bare(text).includes(word))))
    .slice(0, most);
}

const DONE = {
  take_back: "Taken back",
  mark: "Marked",
  photograph: "Photo",
  next_vehicle: "Next vehicle begins",
  read_back: "Said again",
  whats_left: "Asked what is left",
  done: "Ended",
  answer: "Answered",
};

/** What became of a command or an answer, as a line. */
export function markWords(mark) {
  const about = mark.about ?? (mark.what === "answer" ? mark.value : null);
  return `${DONE[mark.what] ?? mark.what}${about ? `: ${about}` : ""}`;
}

/** Whether a command changes anything that can be taken back. */
export function canUndo(mark) {
  return ["take_back", "mark", "next_vehicle", "photograph", "answer"].includes(mark.what);
}
