// Asking the server. A refusal is an Error whose message is the server's sentence.

export class Refused extends Error {
  constructor(message, status) {
    super(message);
    this.status = status;
  }
}

export async function get(path) {
  return answer(await reach(path, {}));
}

export async function post(path, body) {
  const options = { method: "POST" };
  if (body instanceof FormData) options.body = body;
  else {
    options.headers = { "Content-Type": "application/json" };
    options.body = JSON.stringify(body ?? {});
  }
  return answer(await reach(path, options));
}

async function reach(path, options) {
  try {
    return await fetch(path, options);
  } catch {
    throw new Refused("The program on the shop's computer does not answer; what you did last was not kept. Start it again with “narrate review”.", 0);
  }
}

async function answer(response) {
  const json = response.headers.get("Content-Type")?.startsWith("application/json");
  const body = json ? await response.json() : null;
  if (response.ok) return body;
  const detail = body?.detail ?? body?.error;
  const text = typeof detail === "string" ? detail : `The request was refused (${response.status}).`;
  throw new Refused(text, response.status);
}
