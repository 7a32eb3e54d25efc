// Which key does what on the page of an estimate. One table: what it says is what the key sheet shows.

/** Key, what it says, what it does; a row whose `when` is not true of the page has no effect. */
const TABLE = [
  ["Enter", "next", (page) => page.forward()],
  ["↓ ↑", "the next job, the one before", null],
  ["→ ←", "the next line of the job, the one before", null],
  ["1 – 9", "do the job this way", null],
  ["q", "hours or quantity of the line", (page) => page.edit("quantity"), (page) => page.lines.length],
  ["p", "price of the line, or price what has none", (page) => page.edit(page.hand.kind === "price" ? "price" : "unit_price"), (page) => page.lines.length || page.hand.kind === "price"],
  ["w", "wording of the line", (page) => page.edit("text"), (page) => page.lines.length],
  ["x", "take the line out", (page) => page.edit("remove_line"), (page) => page.lines.length],
  ["a", "add a line", (page) => page.edit("add_line"), (page) => page.job],
  ["b", "who pays for the job", (page) => page.edit("payer"), (page) => page.job],
  ["[ ]", "the job earlier, later", null],
  ["z", "take the job out", (page) => page.edit("remove_job"), (page) => page.job],
  ["i", "add a job", (page) => page.take({ kind: "done" }) ?? page.edit("add_job")],
  ["d", "discount", (page) => page.take({ kind: "done" }) ?? page.edit("discount")],
  ["e", "prices hold until, tax, deposit, old parts", (page) => page.take({ kind: "done" }) ?? page.edit("terms")],
  ["l", "look at the customer's copy", (page) => page.take({ kind: "done" }) ?? document.querySelector("#paper")?.click()],
  ["c", "take down the customer's answer", (page) => page.take({ kind: "answer" })],
  ["r", "what came of the job", (page) => page.edit("outcome"), (page) => page.job?.state === "authorized"],
  ["u", "undo", (page) => page.back("undo")],
  ["Shift+U", "do it again", null],
  ["/", "find another estimate", () => location.assign("/estimates#find")],
  ["?", "this sheet", (page) => page.sheet()],
];

/** Rows of the key sheet. */
export function keys() { return TABLE.map(([key, what]) => [key, what]); }

/** What a key does now; null where it does nothing. */
export function actionFor(event, page) {
  const onButton = event.target instanceof Element && event.target.closest("button, a, summary");
  if ([" ", "Enter"].includes(event.key) && onButton) return null;
  const moves = {
    ArrowDown: () => page.step(1),
    ArrowUp: () => page.step(-1),
    ArrowRight: () => page.stepLine(1),
    ArrowLeft: () => page.stepLine(-1),
    U: () => page.back("redo"),
    "[": () => move(page, -1),
    "]": () => move(page, 1),
  };
  if (moves[event.key]) return moves[event.key];
  const digit = Number(event.key);
  if (digit >= 1 && digit <= 9) {
    const choice = page.job?.choices[digit - 1];
    return choice ? () => choose(page, choice.id) : null;
  }
  const row = TABLE.find(([key]) => key === event.key);
  if (!row?.[2] || (row[3] && !row[3](page))) return null;
  return () => row[2](page);
}

/** Do the job in hand in another way. */
export function choose(page, id) {
  const { job } = page;
  page.line = 0;
  if (id !== job.chosen) page.ask({ do: "choose", job: job.id, to: id, seen: job.seen_chosen });
}

/** The job in hand one place earlier or later among those like it. */
export function move(page, by) {
  const { job } = page;
  if (!job) return;
  const seen = page.view.order;
  const same = page.view.jobs.filter((each) => each.optional === job.optional).map((each) => each.id);
  const other = same[same.indexOf(job.id) + by];
  if (!other) return;
  const to = seen.map((each) => (each === job.id ? other : each === other ? job.id : each));
  page.ask({ do: "order", to, seen });
}
