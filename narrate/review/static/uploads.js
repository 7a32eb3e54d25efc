// The page of recordings: dropped or chosen files are sent one after the other, and the list follows the jobs.
// Without this script the form and the buttons work all the same, by loading the page anew.

import { get, post } from "./api.js";
import { clock, el } from "./dom.js";

const form = document.getElementById("send");
const files = document.getElementById("files");
const sending = document.getElementById("sending");
const said = document.getElementById("said");
const jobs = document.getElementById("jobs");
const SAYS = { waiting: "waits its turn", working: "is being heard", done: "is heard", failed: "could not be heard", stopped: "is stopped" };

/** Send what was chosen: together in one request, else a request for each file, so that one cannot hold up another. */
async function send(chosen) {
  const fields = new FormData(form);
  const together = fields.has("together");
  fields.delete("recording");
  for (const group of together ? [chosen] : chosen.map((file) => [file])) {
    const body = new FormData();
    for (const [name, value] of fields) body.append(name, value);
    for (const file of group) body.append("recording", file, file.name);
    await sendOne(body, group.length === 1 ? group[0].name : `${group[0].name} and ${group.length - 1} more`);
  }
}

/** One request with its own line. fetch cannot tell how much has been sent. */
function sendOne(body, name) {
  const bar = el("progress", { max: 1, value: 0, "aria-label": `Sending ${name}` });
  const line = el("div", {}, `${name} `, bar);
  sending.append(line);
  sending.hidden = false;
  return new Promise((done) => {
    const request = new XMLHttpRequest();
    request.open("POST", "/api/recordings");
    request.setRequestHeader("Accept", "application/json");
    request.upload.onprogress = (event) => { if (event.lengthComputable) bar.value = event.loaded / event.total; };
    request.onload = () => { tell(line, name, request); done(); };
    request.onerror = () => { notSent(line, name, "The program on the shop's computer does not answer; send it again."); done(); };
    request.send(body);
  });
}

function tell(line, name, request) {
  let answer = {};
  try { answer = JSON.parse(request.responseText); } catch { /* no JSON: a refusal from before the program */ }
  const refused = answer.refused ?? [];
  const taken = answer.taken ?? [];
  if (!refused.length && !taken.length) return notSent(line, name, answer.detail ?? `It was refused (${request.status}).`);
  line.replaceChildren(
    ...refused.map((each) => el("p", { class: "error", text: each.said })),
    ...taken.map((each) => el("p", { class: "notice" }, each.said, each.walkaround ? [" ", el("a", { href: `/walkarounds/${each.walkaround}`, text: `Open ${each.walkaround}` })] : null)),
  );
  said.textContent = [...refused, ...taken].map((each) => each.said).join(" ");
}

function notSent(line, name, sentence) {
  line.replaceChildren(el("p", { class: "error", text: `${name}: ${sentence}` }));
  said.textContent = `${name}: ${sentence}`;
}

form.addEventListener("submit", (event) => {
  event.preventDefault();
  const chosen = [...form.querySelectorAll("input[type=file]")].flatMap((input) => [...input.files]);
  if (!chosen.length) {
    said.textContent = "Choose one or several recordings first.";
    files.focus();
    return;
  }
  for (const input of form.querySelectorAll("input[type=file]")) input.value = "";
  send(chosen);
});

// The whole page takes what is dropped, so that nobody has to aim.
document.addEventListener("dragover", (event) => event.preventDefault());
document.addEventListener("drop", (event) => {
  event.preventDefault();
  const dropped = [...event.dataTransfer.files];
  if (dropped.length) send(dropped);
});

jobs.addEventListener("submit", async (event) => {
  event.preventDefault();
  try {
    await post(new URL(event.target.action).pathname, {});
  } catch (error) {
    said.textContent = error.message;
  }
});

/** Take the jobs as they are now: figures change in place; the list is fetched anew only when a state changed. */
async function follow({ jobs: now, far }) {
  const line = document.getElementById("far");
  if (line) line.textContent = far;
  if (line) line.hidden = !far;
  const rows = new Map([...jobs.querySelectorAll("[data-job]")].map((row) => [Number(row.dataset.job), row]));
  const changed = now.filter((job) => rows.get(job.id)?.dataset.state !== job.state);
  for (const job of now) {
    const row = rows.get(job.id);
    const bar = row?.querySelector("progress");
    if (!bar || job.state !== "working") continue;
    bar.max = Math.max(job.total_s, 1);
    bar.value = job.done_s;
    row.querySelector(".far").textContent = `${clock(job.done_s)} of ${clock(job.total_s)} heard`;
  }
  if (!changed.length && rows.size === now.length) return;
  const over = changed.filter((job) => rows.has(job.id) && job.state !== "working");
  if (over.length) said.textContent = over.map((job) => `${job.name} ${SAYS[job.state]}. ${job.why}`.trim()).join(" ");
  const answer = await fetch("/uploads/jobs", { headers: { Accept: "text/html" } });
  if (!answer.ok || answer.redirected) return;
  const focused = jobs.contains(document.activeElement) ? document.activeElement.closest("[data-job]")?.id : null;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  jobs.replaceChildren(...page.body.childNodes);
  // Who works by keyboard stays in the same line.
  const row = focused && document.getElementById(focused);
  if (row) (row.querySelector("button, a") ?? row).focus();
}

let last = Promise.resolve();
const queue = (now) => { last = last.then(() => follow(now)).catch(() => {}); };
new EventSource("/api/jobs/stream").addEventListener("message", (event) => queue(JSON.parse(event.data)));
// A page that was asleep may have missed events.
document.addEventListener("visibilitychange", async () => { if (!document.hidden) queue(await get("/api/jobs")); });
