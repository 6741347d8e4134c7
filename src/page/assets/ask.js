// What is asked of brede on this computer. All of it goes through `ask`, which knows the window's secret and notices when
// brede is away.

import { words } from "./words.js";

const WINDOW = "window";

/**
 * What brede says where it has no result.
 * @typedef {{ trouble: string, said?: string[], advice?: { do: string } | null }} Told
 */
export class Trouble extends Error {
  /** @param {Told} told */
  constructor(told) {
    super(Trouble.words(told));
    this.kind = told.trouble;
    this.said = told.said ?? [];
    this.advice = told.advice?.do ?? "";
  }

  /** @param {Told} told */
  static words({ trouble, said: [why = ""] = [], advice }) {
    const said = trouble === "refused" && why ? `${why[0].toUpperCase()}${why.slice(1).replace(/\.$/, "")}.` : (words.troubles[trouble] ?? words.couldNot);
    return [said, advice && words.advice[advice.do]].filter(Boolean).join(" ");
  }
}

/** Whether something was given up because nobody waits for it any more. @param {unknown} error */
export function isAbort(error) {
  return error instanceof DOMException && error.name === "AbortError";
}

/** Brede does not answer. */
export class Away extends Error {}

/** The window was not let in. */
export class Locked extends Error {}

let heardAway = (/** @type {boolean} */ _) => {};
let away = false;

/** @param {(away: boolean) => void} listener is told when brede goes away and when it is back */
export function onAway(listener) {
  heardAway = listener;
}

/** @type {Set<() => void>} */
const forNews = new Set();
/** @type {number | null} */
let changes = null;

/** How often it is looked for what others have changed, in milliseconds. */
const LOOKS = 4000;

/** How often something was kept: to be asked for before what is shown is fetched, so that no change falls between. */
export async function changesYet() {
  return (await get("/api/here")).changes;
}

/** Is told when something was kept elsewhere: in another window, or by a command. @param {() => void} listener @param {number} since what `changesYet` said @returns {() => void} what ends it */
export function onNews(listener, since) {
  changes = since;
  forNews.add(listener);
  return () => forNews.delete(listener);
}

/** Looks for news while somebody looks at the page and wants them. */
export function listenForNews() {
  const look = async () => {
    if (!forNews.size || away || document.visibilityState !== "visible") return;
    try {
      const before = changes;
      const found = await changesYet();
      if (changes !== before) return;
      changes = found;
      if (before !== null && before !== found) forNews.forEach((listener) => listener());
    } catch {
      // Who is away is noticed elsewhere.
    }
  };
  setInterval(look, LOOKS);
  // What was done elsewhere is seen at once when she comes back to the page.
  document.onvisibilitychange = look;
}

/** @param {boolean} now */
function setAway(now) {
  if (now === away) return;
  away = now;
  heardAway(now);
  if (now) wait();
}

/** Looks whether brede is back, ever less often. */
function wait(pause = 1000) {
  setTimeout(async () => {
    try {
      await ask("/api/here");
    } catch (error) {
      if (error instanceof Away) wait(Math.min(pause * 1.5, 15000));
      else setAway(false);
    }
  }, pause);
}

/** Asks brede for something. @param {string} path @param {RequestInit} [how] */
export async function ask(path, how = {}) {
  const headers = new Headers(how.headers);
  headers.set("x-brede-window", localStorage.getItem(WINDOW) ?? "");
  let answer;
  try {
    answer = await fetch(path, { ...how, headers });
  } catch (error) {
    if (isAbort(error)) throw error;
    setAway(true);
    throw new Away(words.away);
  }
  setAway(false);
  if (answer.status === 401) throw new Locked(words.locked);
  if (!answer.ok) {
    const told = await answer.json().catch(() => ({ trouble: "broken" }));
    throw new Trouble(told);
  }
  return answer;
}

/** @param {string} path */
export async function get(path) {
  return (await ask(path)).json();
}

/** @param {unknown} value */
function jsonOf(value) {
  return { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(value) };
}

/** Sends a file. @param {string} path @param {File} file @param {AbortSignal} [signal] */
export async function send(path, file, signal) {
  const headers = { "content-type": "application/octet-stream" };
  return said(await ask(`${path}?name=${encodeURIComponent(file.name)}`, { method: "POST", headers, body: file, signal }));
}

/** Has something changed. @param {string} path @param {unknown} [asked] @param {string} [method] */
export async function change(path, asked, method = "POST") {
  return said(await ask(path, asked === undefined ? { method } : { ...jsonOf(asked), method }));
}

/** What is said, where something is. @param {Response} answer */
const said = (answer) => (answer.status === 204 ? null : answer.json());

/**
 * Figures and bytes in one body: four bytes that say how long the figures are (little-endian), the figures as JSON, the bytes.
 * @param {Response} answer
 * @returns {Promise<{ figures: any, rest: Uint8Array<ArrayBuffer> }>}
 */
export async function framed(answer) {
  // Read in parts, and fingers are answered after some: four million squares at once would keep them waiting.
  const reader = /** @type {ReadableStream<Uint8Array>} */ (answer.body).getReader();
  const parts = [];
  let size = 0;
  for (let read = await reader.read(); !read.done; read = await reader.read()) {
    size += read.value.length;
    if (parts.push(read.value) % 8 === 0) await new Promise((resolve) => setTimeout(resolve));
  }
  const bytes = new Uint8Array(size);
  for (const part of parts.reverse()) bytes.set(part, (size -= part.length));
  const length = new DataView(bytes.buffer).getUint32(0, true);
  const figures = JSON.parse(new TextDecoder().decode(bytes.subarray(4, 4 + length)));
  return { figures, rest: bytes.subarray(4 + length) };
}

/** Asks for something that comes as figures and bytes. @param {string} path @param {unknown} asked @param {AbortSignal} [signal] */
export async function shown(path, asked, signal) {
  return framed(await ask(path, { ...jsonOf(asked), signal }));
}

/**
 * Has long work done, and hears of it as it goes on.
 * @param {string} path
 * @param {unknown} asked
 * @param {(name: string, data: any) => void} heard is told every event but the last
 * @param {AbortSignal} [signal] stops it
 * @returns {Promise<any>} what came of it
 */
export async function work(path, asked, heard, signal) {
  const answer = await ask(path, { ...jsonOf(asked), signal });
  const reader = /** @type {ReadableStream<Uint8Array>} */ (answer.body).getReader();
  const decoder = new TextDecoder();
  let text = "";
  for (;;) {
    const { done, value } = await reader.read().catch((error) => {
      if (isAbort(error)) throw error;
      setAway(true);
      throw new Away(words.away);
    });
    if (done) {
      // An end without a word: brede has gone.
      setAway(true);
      throw new Away(words.away);
    }
    text += decoder.decode(value, { stream: true });
    for (let end = text.indexOf("\n\n"); end >= 0; end = text.indexOf("\n\n")) {
      const lines = text.slice(0, end).split("\n");
      text = text.slice(end + 2);
      const of = (/** @type {string} */ field) => lines.find((line) => line.startsWith(field))?.slice(field.length) ?? "";
      const [name, data] = [of("event: "), JSON.parse(of("data: "))];
      if (name === "done") return data;
      if (name === "failed") throw new Trouble(data);
      heard(name, data);
    }
  }
}

/** Spends the key in the address, where there is one, and takes it out of the address. */
export async function enter() {
  const key = location.hash.slice(1);
  if (!/^[0-9a-f]{32}$/.test(key)) return;
  history.replaceState(null, "", location.pathname);
  const answer = await fetch("/enter", jsonOf({ key }));
  if (answer.ok) localStorage.setItem(WINDOW, (await answer.json()).window);
}
