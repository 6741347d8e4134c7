// Where she is: every place has an address, and back is the browser's back.

import { Away, change, enter, get, isAbort, listenForNews, Locked, onAway, send, Trouble } from "./ask.js";
import { basket } from "./basket.js";
import { begin, bring } from "./begin.js";
import { card } from "./card.js";
import { make } from "./make.js";
import { button, freeName } from "./parts.js";
import { piece } from "./piece.js";
import { print } from "./print.js";
import { bringPaper, read, readPaper } from "./read.js";
import { words } from "./words.js";

/** @typedef {typeof place} Place */

const root = /** @type {HTMLElement} */ (document.getElementById("place"));
const status = /** @type {HTMLElement} */ (document.getElementById("said"));

/** @type {(() => void)[]} */
let leaving = [];
/** @type {((file: File) => unknown) | null} */
let dropped = null;
let quiet = 0;
let isClosed = false;

/** What is said in passing stands in the bottom edge, where nothing else does; else above it, where a thumb reaches it and no title is under it. */
function seat() {
  const edge = root.querySelector(".edge");
  const free = Math.min(...[...(edge?.children ?? [])].map((one) => one.getBoundingClientRect().left));
  const isIn = edge !== null && status.offsetWidth + 24 < free && status.offsetHeight < edge.clientHeight;
  status.style.insetBlockEnd = `${isIn ? (edge.clientHeight - status.offsetHeight) / 2 : (edge?.clientHeight ?? 0) + 8}px`;
  status.style.marginInlineStart = isIn ? "0" : "";
}

const seating = new ResizeObserver(seat);

/** @param {string} kind @param {...(Node | string)} inside */
function tell(kind, ...inside) {
  clearTimeout(quiet);
  status.replaceChildren(...inside);
  status.className = `said here ${kind}`;
  seat();
}

/** What a place may ask of the page. */
const place = {
  /** @param {string} title of the window @param {string} where the sentence that says where she is, where the title does not @param {...Node} inside */
  show(title, where, ...inside) {
    leave();
    document.title = title === words.basket ? words.brede : `${title} – ${words.brede}`;
    const [href, back] = wayBack();
    const header = make(
      "header",
      {},
      !place.is("#/") && make("a", { class: "way-back", href }, "‹ ", back),
      make("h1", { tabIndex: -1 }, title),
      where && make("p", "where", where),
    );
    root.replaceChildren(header, ...inside);
    seating.disconnect();
    root.querySelectorAll(".edge").forEach((edge) => seating.observe(edge));
    seat();
  },
  /** Whether she is still there. @param {string} address */
  is: (address) => (location.hash || "#/") === address,
  /** @param {string} address */
  go(address) {
    location.hash = address;
  },
  /** Says something in passing. @param {string} text @param {{ text: string, does: () => unknown } | undefined} [back] takes it back */
  say(text, back) {
    tell("", text, ...(back ? [button(back.text, back.does)] : []));
    quiet = setTimeout(() => (status.className = "said"), back ? 20000 : 6000);
  },
  /** Says what keeping came to; where another piece has the name, one that is free is a press away. @param {any} kept */
  kept({ piece, name, came, warnings }) {
    const free = freeName(warnings);
    if (!free) return place.say(words.kept[came](name));
    place.say(words.sameName(name), { text: words.callIt(free), does: async () => {
      await change(`/api/pieces/${piece}/change`, { name: free });
      place.say(words.renamed(name, free));
      await arrive();
    } });
  },
  /** Brede was closed from here. */
  closed() {
    clearTimeout(quiet);
    status.className = "said";
    isClosed = true;
    // So that it is noticed when brede is there again.
    setTimeout(() => get("/api/here").catch(() => {}), 1000);
    shut(words.closed, words.closedDo);
  },
  /** Tells of trouble; what was done is kept. @param {unknown} error */
  trouble(error) {
    if (error instanceof Away || isAbort(error)) return;
    if (error instanceof Locked) return shut(words.locked, words.lockedDo);
    const isTrouble = error instanceof Trouble;
    const said = isTrouble ? error.said : [String(error)];
    tell(
      "warns",
      isTrouble ? error.message : words.couldNot,
      ...(said.length > 1 || !isTrouble ? [make("details", {}, make("summary", {}, words.curious), said.join("\n"))] : []),
      button("×", () => (status.className = "said"), undefined, { "aria-label": words.close }),
    );
  },
  /** @param {() => void} listener */
  onLeave(listener) {
    leaving.push(listener);
  },
  /** @param {(file: File) => unknown} listener takes a file that is dropped, or gives null */
  onDrop(listener) {
    dropped = listener;
  },
  /** Takes a photo, a chart, or the files of a printed one in. @param {File[]} files */
  take: (files) => takeAll(files),
};

function leave() {
  leaving.forEach((listener) => listener());
  leaving = [];
  dropped = null;
}

/** Where back leads, and what it is called. */
function wayBack() {
  const [, id] = /^#\/piece\/([^/]+)\/print$/.exec(location.hash) ?? [];
  if (place.is("#/card")) return ["#/begin", words.beginTitle];
  return id ? [`#/piece/${id}`, words.toChart] : ["#/", words.basket];
}

/** A place that leads nowhere. @param {string} title @param {string} text */
function shut(title, text) {
  leave();
  document.title = words.brede;
  root.replaceChildren(make("header", {}, make("h1", {}, title)), make("main", "empty", make("p", {}, text)));
}

async function arrive() {
  const [, kind, id, then] = (location.hash || "#/").split("/");
  status.classList.remove("warns");
  try {
    if (kind === "begin") begin(place);
    else if (kind === "card") await card(place);
    else if (kind === "read" && id && !then) await read(place, id);
    else if (kind === "read" && !id) await readPaper(place);
    else if (kind === "piece" && id && then === "print") await print(place, id);
    else if (kind === "piece" && id && !then) await piece(place, id);
    else if (kind) place.go("#/");
    else await basket(place);
  } catch (error) {
    place.trouble(error);
    if (error instanceof Trouble && kind) place.go("#/");
  }
}

/** @param {File[]} files */
async function takeAll(files) {
  if (files.length > 0 && files.every(({ name, type }) => type === "application/pdf" || /\.pdf$/i.test(name))) {
    // Files are pages in the order of their names.
    bringPaper([...files].sort((one, other) => one.name.localeCompare(other.name, undefined, { numeric: true })));
    if (place.is("#/read")) await readPaper(place);
    else place.go("#/read");
  } else if (files.length === 1) await take(files[0]);
  else if (files.length) place.say(words.oneAtATime);
}

/** @param {File} file */
async function take(file) {
  if (dropped?.(file)) return;
  if (/\.json$/i.test(file.name)) {
    const kept = await send("/api/pieces", file);
    place.kept(kept);
    if (place.is("#/")) await basket(place);
    else place.go("#/");
  } else if (file.type.startsWith("image/")) {
    bring(file);
    if (place.is("#/begin")) begin(place);
    else place.go("#/begin");
  } else {
    place.say(words.notKnown(file.name));
  }
}

function listenToDrops() {
  const over = make("p", { class: "drop-now", hidden: true }, words.dropNow);
  document.body.append(over);
  /** @param {DragEvent} event whose files the browser would open itself */
  const takes = (event) => {
    if (!event.dataTransfer?.types.includes("Files")) return;
    event.preventDefault();
    over.hidden = event.type === "drop";
    if (over.hidden) takeAll([...event.dataTransfer.files]);
  };
  addEventListener("dragover", takes);
  addEventListener("drop", takes);
  // Out of the window.
  addEventListener("dragleave", ({ relatedTarget }) => (over.hidden ||= relatedTarget === null));
}

onAway((away) => {
  if (isClosed) {
    if (!away) location.reload();
  } else if (away) tell("warns", words.away);
  else place.say(words.back);
});

// What goes wrong and is handled nowhere else is told. Of mistakes of the page's own the browser complains too.
addEventListener("unhandledrejection", (event) => {
  const { reason } = event;
  if (reason instanceof Away || reason instanceof Locked || reason instanceof Trouble || isAbort(reason)) event.preventDefault();
  place.trouble(reason);
});

await enter();
addEventListener("hashchange", async () => {
  scrollTo(0, 0);
  await arrive();
  // Who listens hears where she is, and keys go on from there.
  if (document.activeElement === document.body) root.querySelector("h1")?.focus({ preventScroll: true });
});
addEventListener("resize", seat);
listenToDrops();
listenForNews();
await arrive();
