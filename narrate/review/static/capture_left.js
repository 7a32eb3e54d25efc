// What came too late: an advisor had ended the recording while some of it was still on this phone. That becomes a
// recording of its own, since nothing said may be lost.

import { hex, newKey } from "./capture_words.js";

const WEBM = [0x1a, 0x45, 0xdf, 0xa3];
const CLUSTER = [0x1f, 0x43, 0xb6, 0x75];
const FRAGMENT = [0x6d, 0x6f, 0x6f, 0x66];
/** The size of an MP4 box stands before its name. */
const SIZE = 4;
const ENDED = "An advisor ended this recording; what came later is a recording of its own.";

/** What a decoder needs before any later piece of the same recorder, from its first piece (bytes). */
export function headerOf(bytes) {
  const at = soundIn(bytes, isWebm(bytes));
  return at === null ? bytes : bytes.slice(0, at);
}

/** A header and a later piece from the first place at which a decoder can begin (under a third of a second in). */
export function playable(header, bytes) {
  const at = soundIn(bytes, isWebm(header));
  return new Uint8Array([...header, ...bytes.slice(at ?? 0)]);
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
 * Move what the phone still has of a capture into another, made at the first time; returns the key of that, or null
 * where there is nothing that could be played there.
 */
export async function carryOver(kept, key) {
  const old = await kept.capture(key);
  const to = old.carried ?? newKey();
  const known = await kept.runs(to);
  const moved = { runs: [], pieces: [], gone: [], marks: [], photos: [] };
  let next = 1 + Math.max(-1, ...known.map((each) => each.run));
  for (const run of await kept.runs(key)) {
    const pieces = (await kept.pieces(key)).filter((each) => each.run === run.run);
    const [first] = pieces;
    if (!first || (first.number && !run.header)) continue;
    const shift = { key: to, run: next };
    for (const piece of pieces) moved.pieces.push({ ...piece, ...shift, number: piece.number - first.number, from_s: piece.from_s - first.from_s, to_s: piece.to_s - first.from_s, tries: 0, refused: null });
    if (first.number) await withHeader(moved.pieces.find((each) => each.run === next), run.header);
    moved.gone.push(...pieces.map((each) => [key, each.run, each.number]));
    moved.runs.push({ ...run, ...shift, known: false, pieces: pieces.length, seconds: pieces.at(-1).to_s - first.from_s, started_at: later(run.started_at, first.from_s), header: run.header });
    const since = (each) => each.run === run.run && each.at_s >= first.from_s && !each.sent;
    for (const table of ["marks", "photos"]) {
      for (const each of (await kept[table](key)).filter(since)) moved[table].push([each, { ...each, ...shift, at_s: each.at_s - first.from_s }]);
    }
    next += 1;
  }
  if (!moved.pieces.length) return old.carried ?? null;
  await write(kept, old, to, moved);
  return to;
}

async function withHeader(piece, header) {
  const bytes = playable(new Uint8Array(header), new Uint8Array(piece.bytes)).buffer;
  Object.assign(piece, { bytes, sha256: hex(await crypto.subtle.digest("SHA-256", bytes)) });
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
    for (const run of moved.runs) tables.runs.put(run);
    for (const piece of moved.pieces) tables.pieces.put(piece);
    for (const key of moved.gone) tables.pieces.delete(key);
    for (const table of ["marks", "photos"]) {
      for (const [before, after] of moved[table]) {
        tables[table].delete([before.key, before.id]);
        tables[table].put(after);
      }
    }
  });
}
