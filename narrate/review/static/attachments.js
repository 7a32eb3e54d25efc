// Photos, stills from a video and clips that belong to a finding.

import { post } from "./api.js";
import { button, clock, el } from "./dom.js";

/** What is attached, and the ways to attach more. */
export function attachments(finding, page) {
  const keep = (id) => page.ask({ do: "lists", finding: finding.id, field: "attachments", to: [...finding.attachments, id], seen: finding.attachments });
  const path = `/api/walkarounds/${page.view.id}/attachments`;
  const piece = finding.evidence[0];
  const video = piece && page.videos.has(piece.recording);
  const send = (body) => page.guard(async () => keep((await post(path, body)).id));
  const photo = el("input", {
    type: "file", accept: "image/jpeg,image/png,image/webp", capture: "environment", "aria-label": "Add a photo",
    onchange: () => {
      if (!photo.files.length) return;
      const form = new FormData();
      form.append("photo", photo.files[0]);
      send(form);
    },
  });
  return el("section", { class: "attachments" },
    el("h3", { text: "Photos and clips" }),
    el("div", { class: "row" }, finding.attachments.map((id) => el("figure", {},
      page.kinds[id] === "clip" ? el("audio", { controls: true, src: `/attachments/${id}` }) : el("a", { href: `/attachments/${id}`, target: "_blank" }, el("img", { src: `/attachments/${id}`, alt: page.kinds[id] ?? "attached", width: "160" })),
      button("take away", () => page.ask({ do: "lists", finding: finding.id, field: "attachments", to: finding.attachments.filter((each) => each !== id), seen: finding.attachments }))))),
    photo,
    video ? still(piece, page, (at_s) => send({ still: { recording: piece.recording, at_s } })) : null,
    piece && page.canPlay(piece) ? button("Attach the clip of these words", () => send({ clip: { recording: piece.recording, start_s: piece.start_s, end_s: piece.end_s } })) : null);
}

/** A still chosen with a slider around the moment the finding was spoken. */
function still(piece, page, take) {
  const from = Math.max(0, piece.start_s - 10);
  const to = piece.end_s + 10;
  const sha256 = page.recording(piece.recording).sha256;
  const image = el("img", { alt: "The video at this moment", width: "320" });
  const time = el("output", {});
  const slider = el("input", { type: "range", min: from, max: to, step: "0.2", value: piece.start_s, "aria-label": "The moment of the still", onchange: () => show(), oninput: () => { time.textContent = clock(Number(slider.value)); } });
  function show() {
    time.textContent = clock(Number(slider.value));
    image.src = `/api/recordings/${sha256}/still?at_s=${slider.value}`;
  }
  show();
  return el("div", { class: "still" }, image, slider, time, button("Attach this still", () => take(Number(slider.value))));
}
