// What came too late: an advisor had ended the recording while some of it was still on this phone. That becomes a
// recording of its own, since nothing said may be lost.

import { hex, newKey } from "./capture_words.js";

const WEBM = [0x1a, 0x45, 0xdf, 0xa3];
const CLUSTER = [0x1f, 0x43, 0xb6, 0x75];
const FRAGMENT = [0x6d, 0x6f, 0x6f, 0x66];
/** The size of an MP4 box stands before its name. */
const SIZE = 4;
/** Pieces in which a place is looked for at which a decoder can begin. */
const SEARCHED = 8;
/** A mark may be made while the last piece is still being recorded. */
const LATE_MARK_S = 5;
const ENDED = "An advisor ended this recording; what came later is a recording of its own.";

/** What a decoder needs before any later piece of the same recorder, from its first piece (bytes). */
export function headerOf(bytes) {
  const at = soundIn(bytes, isWebm(bytes));
  return at === null ? bytes : bytes.slice(0, at);
}

/** A header and the pieces behind it (bytes each), from the first place at which a decoder can begin; null without one. */
export function playable(header, pieces) {
  const whole = joined(pieces);
  const at = soundIn(whole, isWebm(header));
  return at === null ? null : joined([header, whole.slice(at)]);
}

function joined(parts) {
  const whole = new Uint8Array(parts.reduce((sum, each) => sum + each.length, 0));
  let at = 0;
  for (const part of parts) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}

function isWebm(bytes) {
  return WEBM.every((byte, number) => bytes[number] === byte);
}

function soundIn(bytes, webm) {
  const marker = webm ? CLUSTER : FRAGMENT;
  for (let at = 0; at + marker.length <= bytes.length; at += 1) {
    if (marker.every((byte, number) => bytes[at + number] === byte)) return webm ? at : Math.max(0, at - SIZE);
  }
  return null;
}

/**
 * Move what the phone still has of a capture into another, made at the first time; returns {to, moved}: the key of that
 * (null before the first time), and whether anything moved. What could not be played there stays.
 */
export async function carryOver(kept, key) {
  const old = await kept.capture(key);
  const to = old.carried ?? newKey();
  const known = await kept.runs(to);
  const moved = { runs: [], pieces: [], gone: [], marks: [], photos: [] };
  const all = await kept.pieces(key);
  let next = 1 + Math.max(-1, ...known.map((each) => each.run));
  for (const run of await kept.runs(key)) {
    for (const pieces of stretches(all.filter((each) => each.run === run.run))) {
      const taken = await playableFrom(run, pieces);
      if (!taken) continue;
      const [{ from_s: by_s }] = taken;
      const shift = { key: to, run: next };
      taken.forEach((piece, number) => moved.pieces.push({ ...piece, ...shift, number, from_s: piece.from_s - by_s, to_s: piece.to_s - by_s, tries: 0, refused: null }));
      moved.gone.push(...pieces.map((each) => [key, each.run, each.number]));
      moved.runs.push({ ...run, ...shift, known: false, pieces: taken.length, seconds: taken.at(-1).to_s - by_s, started_at: later(run.started_at, by_s) });
      const within = (each) => each.run === run.run && each.at_s >= by_s && each.at_s <= pieces.at(-1).to_s + LATE_MARK_S;
      for (const each of (await kept.marks(key)).filter(within)) moved.marks.push([each, { ...counted(each, by_s), ...shift, sent: false }]);
      for (const each of (await kept.photos(key)).filter((photo) => within(photo) && !photo.sent)) moved.photos.push([each, { ...each, ...shift, at_s: each.at_s - by_s }]);
      next += 1;
    }
  }
  if (moved.pieces.length) await write(kept, old, to, moved);
  return { to: old.carried ?? (moved.pieces.length ? to : null), moved: moved.pieces.length > 0 };
}

/** Pieces of a run in stretches without a hole. */
function stretches(pieces) {
  const found = [];
  for (const piece of pieces) {
    if (found.length && piece.number === found.at(-1).at(-1).number + 1) found.at(-1).push(piece);
    else found.push([piece]);
  }
  return found;
}

/** Pieces of a stretch that can be played by themselves, the first with the recorder's header; null where they cannot. */
async function playableFrom(run, pieces) {
  if (!pieces[0].number) return pieces;
  if (!run.header) return null;
  for (let count = 1; count <= Math.min(SEARCHED, pieces.length); count += 1) {
    const whole = playable(new Uint8Array(run.header), pieces.slice(0, count).map((each) => new Uint8Array(each.bytes)));
    if (!whole) continue;
    const sha256 = hex(await crypto.subtle.digest("SHA-256", whole));
    return [{ ...pieces[count - 1], bytes: whole.buffer, sha256 }, ...pieces.slice(count)];
  }
  return null;
}

/** A mark with its seconds counted from later on; what it was about before that is left out. */
function counted(mark, by_s) {
  const about = mark.about_start_s ?? null;
  const before = about !== null && about < by_s;
  const less = (seconds) => (typeof seconds === "number" ? Math.max(0, seconds - by_s) : seconds);
  return {
    ...mark,
    at_s: less(mark.at_s), end_s: less(mark.end_s),
    about_start_s: before ? undefined : less(mark.about_start_s), about_end_s: before ? undefined : less(mark.about_end_s),
  };
}

function later(iso, seconds) {
  return new Date(Date.parse(iso) + seconds * 1000).toISOString();
}

function write(kept, old, to, moved) {
  return kept.write(["captures", "runs", "pieces", "marks", "photos"], async (tables) => {
    if (!old.carried) {
      tables.captures.put({ ...old, key: to, started_at: moved.runs[0].started_at, known: false, safe_s: 0, state: "open", why: "", walkaround: null });
    }
    tables.captures.put({ ...old, carried: to, ended: old.ended ?? Date.now(), state: "queued", why: ENDED });
    // First out, then in: the phone may be nearly full.
    for (const key of moved.gone) tables.pieces.delete(key);
    for (const run of moved.runs) tables.runs.put(run);
    for (const piece of moved.pieces) tables.pieces.put(piece);
    for (const table of ["marks", "photos"]) {
      for (const [before, after] of moved[table]) {
        tables[table].delete([before.key, before.id]);
        tables[table].put(after);
      }
    }
  });
}
