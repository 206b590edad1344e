// Talks to the server of this page, and to nothing else.

/** What the library has against an input: faults with field, value, reason and remedy. */
export class Refused extends Error {
  constructor(faults, text) {
    super(faults.map((fault) => fault.message).join("\n"));
    this.faults = faults;
    this.text = text;
  }
}

async function send(door, body, signal) {
  let answer;
  try {
    answer = await fetch(`/api/v1/${door}`, body === undefined ? { signal } : {
      method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body), signal,
    });
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw Object.assign(new Refused([{ field: "request", message: "The desk's server does not answer. Start `slipwise desk` again: this page then goes on by itself, and nothing typed is lost." }]), { away: true });
  }
  if (answer.ok) return answer;
  const told = await answer.json().catch(() => ({}));
  throw new Refused(told.faults ?? [{ field: "request", message: `The server refused this (${answer.status}).` }], told.text);
}

const CONTENT = "files.base64"; // the field of a fault that asks for a content again
const SMALL = 30_000; // letters of base64 that always come along
const ENOUGH = { quick: 4, long: 1 }; // times that a content travels: once to each process that may be asked
const sent = { quick: new Map(), long: new Map() };

/** The question with its files as they travel: those that every process has seen, by their hash alone. */
function travelling({ files, ...body }, lane) {
  if (!files?.length) return body;
  const times = sent[lane];
  return { ...body, files: files.map(({ name, sha256, base64 }) => {
    const before = times.get(sha256) ?? 0;
    times.set(sha256, before + 1);
    return sha256 && base64.length > SMALL && before >= ENOUGH[lane] ? { name, sha256 } : { name, base64, ...(sha256 && { sha256 }) };
  }) };
}

/** Asks; once more with every content when the server says that it keeps one no longer. */
async function withFiles(body, lane, once) {
  if (body === undefined) return once();
  try {
    return await once(travelling(body, lane));
  } catch (error) {
    if (!(error instanceof Refused) || !error.faults.some(({ field }) => field === CONTENT)) throw error;
    sent[lane].clear();
    return once(travelling(body, lane));
  }
}

/** One question, one answer. */
export function ask(door, body, signal) {
  return withFiles(body, "quick", async (question) => {
    const told = await (await send(door, question, signal)).json();
    if (told.faults?.some(({ field }) => field === CONTENT)) throw new Refused(told.faults, told.text);
    return told;
  });
}

export function askPicture(door, body, signal) {
  return withFiles(body, "quick", async (question) => (await send(door, question, signal)).blob());
}

/** A long question: `progress({words, share})` is told meanwhile; aborting `signal` cancels the work on the server. */
export function askLong(door, body, signal, progress = () => {}) {
  return withFiles(body, "long", (question) => streamed(door, question, signal, progress));
}

async function streamed(door, body, signal, progress) {
  const answer = await send(door, body, signal);
  const reader = answer.body.pipeThrough(new TextDecoderStream()).getReader();
  let rest = "";
  for (;;) {
    const { value, done } = await reader.read();
    const lines = (rest + (value ?? "")).split("\n");
    rest = done ? "" : lines.pop();
    for (const line of lines.filter((one) => one.trim())) {
      const told = JSON.parse(line);
      if (told.faults) throw new Refused(told.faults, told.text);
      if (told.result) return told.result;
      if (told.progress) progress(told.progress);
    }
    if (done) throw new Refused([{ field: "request", message: "The answer broke off; try again." }]);
  }
}

/** Latest wins: one question in flight, one waiting; a newer one takes the place of the one that waits, unless that is final. */
export class Latest {
  constructor(work) {
    this.work = work;
    this.busy = false;
    this.waiting = [];
  }

  async ask(question) {
    this.waiting = [...this.waiting.filter(({ final }) => final), question];
    if (this.busy) return;
    this.busy = true;
    try {
      while (this.waiting.length) await this.work(this.waiting.shift());
    } finally {
      this.busy = false;
    }
  }
}

/** Only the newest counts: a new question cancels the one before. */
export class Newest {
  constructor(work) {
    this.work = work;
  }

  async ask(question) {
    this.cancel();
    const mine = (this.control = new AbortController());
    try {
      await this.work(question, mine.signal);
    } catch (error) {
      if (error.name !== "AbortError") throw error;
    } finally {
      if (this.control === mine) this.control = null;
    }
  }

  cancel() {
    this.control?.abort();
  }

  get busy() {
    return Boolean(this.control);
  }
}
