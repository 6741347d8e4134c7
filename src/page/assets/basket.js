// The workbasket: all pieces, each with its picture and how far it is.

import { ask, change, changesYet, get, onNews, work } from "./ask.js";
import { beginAgain } from "./begin.js";
import { hoop, make, runningStitch } from "./make.js";
import { button, chartPicker, freeName, quiet, workLine } from "./parts.js";
import { dayInWords, momentInWords, number } from "./units.js";
import { counted, words } from "./words.js";

/** @typedef {import("./main.js").Place} Place */

/** Whether the first piece was asked for: once while the page is open. */
let begun = false;

/** A piece, or a printed chart that is being read: `path` is where brede is asked of it. @typedef {{ of: any, href: string, path: string, picture: string | false, far: string, share: number | null, facts: any[] }} Entry */

/** @param {any} piece @param {number} at @param {any[]} all @returns {Entry} */
function ofPiece(piece, at, all) {
  const { id, name, size, count, threads, percent, kept } = piece;
  // Of two that are called the same, it is said when each came.
  const isTwin = all.some((other) => other.id !== id && other.name.toLowerCase() === name.toLowerCase());
  const path = `/api/pieces/${id}`;
  const facts = [size && words.pieceSize(size.columns, size.rows, count ?? ""), threads && counted.threads(threads), isTwin && words.keptOn(momentInWords(kept))];
  return { of: piece, href: `#/piece/${id}`, path, picture: `${path}/picture`, far: farInWords(piece), share: percent === null ? null : percent / 100, facts };
}

/** @param {any} reading @returns {Entry} */
function ofReading(reading) {
  const { id, size, open, symbols } = reading;
  const path = `/api/readings/${id}`;
  const far = open === null ? words.notReadYet : open ? words.halfRead(open) : words.readNotKept;
  return { of: reading, href: `#/read/${id}`, path, picture: size && `${path}/picture`, far, share: symbols ? (symbols - open) / symbols : 0, facts: [size && words.paperSize(size.columns, size.rows)] };
}

/** @param {Place} place */
export async function basket(place) {
  const since = await changesYet();
  const { pieces, readings } = await get("/api/pieces");
  if (!place.is("#/")) return;
  const open = new Set([...document.querySelectorAll("details.changes[open]")].map((element) => /** @type {HTMLElement} */ (element).dataset.piece));
  const [all, read] = [pieces.map(ofPiece), readings.map(ofReading)];
  const isPiece = (/** @type {Entry} */ entry) => all.includes(entry);
  const isAway = (/** @type {Entry} */ entry) => (isPiece(entry) ? entry.of.turn?.[0] === "put-down" : entry.of.away);
  const out = [...read, ...all].filter((entry) => !isAway(entry));
  const away = [...all, ...read].filter(isAway);
  const main = make("main", { class: out.length ? "basket" : "empty" });
  if (out.length) {
    const changesOf = (/** @type {Entry} */ entry) => (isPiece(entry) ? changes(place, entry, open.has(entry.of.id)) : make("div", "changes", putAway(place, entry, { "aria-label": words.putAwayPiece(entry.of.name) })));
    main.append(make("ul", "pieces", ...out.map((entry) => make("li", {}, label(place, entry, changesOf(entry))))));
  } else {
    main.append(hoop(), make("p", {}, away.length ? words.basketAllAway : words.basketEmptyDo));
  }
  if (away.length) {
    const list = away.map((entry) => {
      const { name } = entry.of;
      const back = button(words.bringBack, () => act(place, entry, "bring-back", words.broughtBack(name)), undefined, { "aria-label": words.bringBackPiece(name) });
      return make("li", {}, make("a", { href: entry.href }, name), make("span", "quiet", entry.far), back);
    });
    main.append(make("section", "put-away", make("h2", {}, words.putAwayPieces(away.length)), make("ul", "away", ...list)));
  }
  if (out.length) main.append(quiet(words.dropHere));
  const isEmpty = !all.length && !read.length;
  if (!isEmpty) main.append(make("p", "quiet runs", words.runsOn, button(words.closeBrede, () => change("/api/close", {}).then(place.closed))));
  const where = out.length ? counted.pieces(out.length) : words.basketEmpty;
  place.show(words.basket, where, main, make("footer", "edge", chartPicker(place), make("a", { class: "button first", href: "#/begin" }, words.begin)));
  place.onLeave(onNews(() => {
    // What is being written is not taken from under the hand.
    if (!document.activeElement?.closest(".changes input")) basket(place);
  }, since));
  if (isEmpty && !begun) await firstPiece(place, main);
}

/** Where nothing was kept yet, a piece is made to look at. @param {Place} place @param {HTMLElement} main */
async function firstPiece(place, main) {
  begun = true;
  const line = workLine(words.making);
  main.append(make("p", { role: "status" }, words.samplePiece), line.element);
  await work("/api/sample", {}, line.heard);
  if (place.is("#/")) await basket(place);
}

/** @param {any} piece */
function farInWords(piece) {
  if (!piece.done) return words.notBegun;
  return piece.percent === 100 ? words.finished : words.percent(number(piece.percent, piece.percent < 10 ? 1 : 0));
}

/**
 * Changes an entry and shows the list anew; what was done can be taken back at once.
 * @param {Place} place @param {Entry} entry @param {unknown} what @param {string} said
 * @param {{ what: unknown, text: string }} [back]
 */
async function act(place, entry, what, said, back) {
  const told = await change(`${entry.path}/change`, what);
  place.say(freeName(told?.warnings) ? words.alsoCalled(told.name) : said, back && { text: words.undo, does: () => act(place, entry, back.what, back.text) });
  await again(place, entry.of.id);
}

/** Draws the list anew; keys stay where they were. @param {Place} place @param {string} id of a piece */
async function again(place, id) {
  if (!place.is("#/")) return;
  await basket(place);
  const summary = document.querySelector(`details.changes[data-piece="${id}"] summary`) ?? document.querySelector(".edge .first");
  /** @type {HTMLElement | null} */ (summary)?.focus({ preventScroll: true });
}

/** @param {Place} place @param {Entry} entry @param {Record<string, unknown>} [given] */
function putAway(place, entry, given) {
  const { name } = entry.of;
  return button(words.putAway, () => act(place, entry, "put-away", words.didPutAway(name), { what: "bring-back", text: words.broughtBack(name) }), undefined, given);
}

/** An entry of the list. @param {Place} place @param {Entry} entry @param {HTMLElement} changes */
function label(place, { of, href, picture: from, far, share, facts }, changes) {
  const picture = make("img", { alt: "", class: "piece-picture" });
  if (from) {
    const shown = ask(from).then((answer) => answer.blob());
    shown.then((blob) => {
      picture.src = URL.createObjectURL(blob);
      place.onLeave(() => URL.revokeObjectURL(picture.src));
    }, () => picture.remove());
  }
  if (of.size) picture.style.aspectRatio = `${of.size.columns} / ${of.size.rows}`;
  const line = [far, of.last_day && words.lastDay(dayInWords(of.last_day))];
  const text = (/** @type {any[]} */ parts) => parts.filter(Boolean).join(", ");
  return make(
    "article",
    "piece",
    // Pressed like the words beside it, and named by them alone.
    make("a", { class: "piece-look", href, tabIndex: -1, "aria-hidden": "true" }, picture),
    make("a", { class: "piece-link", href },
      make("span", "piece-words", make("strong", {}, of.name), make("span", {}, text(line)), runningStitch(share, far), make("span", "quiet", text(facts)))),
    changes,
  );
}

/** What is done to a whole piece. @param {Place} place @param {Entry} entry @param {boolean} isOpen */
function changes(place, entry, isOpen) {
  const { id, name: before } = entry.of;
  const name = make("input", { value: before, maxLength: 120, required: true, "aria-label": words.nameOf(before) });
  const rename = () => {
    const called = name.value.trim();
    if (called && called !== before) act(place, entry, { name: called }, words.renamed(before, called), { what: { name: before }, text: words.renamed(called, before) });
  };
  const copy = async () => {
    const told = await change(`${entry.path}/copy`, { name: words.copyOf(before) });
    place.kept({ ...told, came: "new" });
    await again(place, told.piece);
  };
  // Where its picture is held, another can be begun from it.
  /** @type {any} */
  let made = null;
  const anew = button(words.beginAgain, () => beginAgain(place, entry.path, made), undefined, { hidden: true });
  const offer = async () => {
    made ??= await get(`${entry.path}/begun`);
    anew.hidden = !made;
  };
  const element = make(
    "details",
    { class: "changes", open: isOpen, ontoggle: offer },
    make("summary", { "aria-label": words.changePieceOf(before) }, words.changePiece),
    make("form", { class: "row", onsubmit: rename }, name, make("button", {}, words.rename)),
    make("div", "row", button(words.copy, copy), anew, putAway(place, entry)),
  );
  element.dataset.piece = id;
  return element;
}
