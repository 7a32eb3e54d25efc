// What the phone keeps until the shop's computer has it. Everything is in IndexedDB before it is sent anywhere.

const NAME = "narrate-capture";
const TABLES = { captures: "key", runs: ["key", "run"], pieces: ["key", "run", "number"], marks: ["key", "id"], photos: ["key", "id"] };

export async function openKept() {
  const asked = indexedDB.open(NAME, 1);
  asked.onupgradeneeded = () => {
    for (const [name, keyPath] of Object.entries(TABLES)) asked.result.createObjectStore(name, { keyPath });
  };
  const kept = new Kept(await answered(asked));
  // Without this the browser may clear it all away when the phone runs out of room.
  navigator.storage?.persist?.().catch(() => {});
  return kept;
}

/**
 * Captures {key, visit, about, device, started_at, known, safe_s, ended, state, walkaround, why, carried},
 * runs {key, run, mime, started_at, ended_at, pieces, seconds, known, header}, pieces {key, run, number, from_s, to_s, bytes, sha256},
 * marks and photos {key, id, run, at_s, ..., sent}. All but pieces are changed by handing in the whole again.
 */
export class Kept {
  constructor(database) {
    this.database = database;
  }

  captures() {
    return this.read("captures", (table) => table.getAll());
  }

  capture(key) {
    return this.read("captures", (table) => table.get(key));
  }

  runs(key) {
    return this.read("runs", (table) => table.getAll(all(key)));
  }

  marks(key) {
    return this.read("marks", (table) => table.getAll(all(key)));
  }

  photos(key) {
    return this.read("photos", (table) => table.getAll(all(key)));
  }

  /** The first piece that waits, in the order of runs and numbers, behind an earlier one if that is given. */
  nextPiece(key, after = null) {
    const range = after ? IDBKeyRange.bound([key, after.run, after.number], [key, []], true) : all(key);
    return this.read("pieces", async (table) => (await answered(table.openCursor(range)))?.value ?? null);
  }

  pieces(key) {
    return this.read("pieces", (table) => table.getAll(all(key)));
  }

  /** {pieces, waiting_s, photos} of a capture that are still on the phone. */
  async waiting(key) {
    const pieces = await this.pieces(key);
    const photos = (await this.photos(key)).filter((each) => !each.sent);
    return { pieces: pieces.length, waiting_s: pieces.reduce((sum, each) => sum + each.to_s - each.from_s, 0), photos: photos.length };
  }

  put(table, row) {
    return this.write([table], (tables) => tables[table].put(row));
  }

  /** Change some fields of a row that may have been changed by others meanwhile. */
  change(table, key, fields) {
    return this.write([table], async (tables) => {
      const row = await answered(tables[table].get(key));
      if (row) tables[table].put({ ...row, ...fields });
    });
  }

  /** Keep a piece and count it in its run: both or neither. `header` of the recorder, with its first piece. */
  addPiece(piece, header = null) {
    return this.write(["pieces", "runs"], async ({ pieces, runs }) => {
      pieces.put(piece);
      const run = await answered(runs.get([piece.key, piece.run]));
      runs.put({ ...run, pieces: Math.max(run.pieces, piece.number + 1), seconds: Math.max(run.seconds, piece.to_s), ...(header && { header }) });
    });
  }

  /** The shop's computer has a piece, and so many seconds of the capture in all. */
  isSafe({ key, run, number }, safe_s) {
    return this.write(["pieces", "captures"], async ({ pieces, captures }) => {
      pieces.delete([key, run, number]);
      captures.put({ ...(await answered(captures.get(key))), safe_s });
    });
  }

  /** A mark or photo was taken; one that was changed meanwhile is sent again. */
  isSent(table, row, fields = {}) {
    return this.write([table], async (tables) => {
      const now = await answered(tables[table].get([row.key, row.id]));
      if (now?.changed === row.changed) tables[table].put({ ...now, ...fields, sent: true });
    });
  }

  /** Everything of a capture, once the shop's computer has all of it. */
  forget(key) {
    return this.write(Object.keys(TABLES), (tables) => {
      for (const name of Object.keys(TABLES)) tables[name].delete(name === "captures" ? key : all(key));
    });
  }

  async read(name, ask) {
    const table = this.database.transaction(name).objectStore(name);
    const asked = ask(table);
    return asked instanceof IDBRequest ? answered(asked) : asked;
  }

  async write(names, work) {
    // Strict: on the disk before we go on, since the next thing to happen may be an empty battery.
    const transaction = this.database.transaction(names, "readwrite", { durability: "strict" });
    const over = new Promise((done, fail) => {
      transaction.oncomplete = done;
      transaction.onabort = () => fail(transaction.error ?? new Error("not kept"));
    });
    const tables = Object.fromEntries(names.map((name) => [name, transaction.objectStore(name)]));
    await Promise.all([work(tables), over]);
  }
}

function all(key) {
  return IDBKeyRange.bound([key], [key, []]);
}

function answered(request) {
  return new Promise((done, fail) => {
    request.onsuccess = () => done(request.result);
    request.onerror = () => fail(request.error);
  });
}
