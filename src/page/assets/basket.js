// The workbasket: all pieces, each with its picture and how far it is.

import { ask, change, changesYet, get, onNews, work } from "./ask.js";
import { filePicker } from "./begin.js";
import { hoop, make, runningStitch } from "./make.js";
import { dayInWords, number } from "./units.js";
import { words } from "./words.js";

/** Whether the first piece was asked for: once while the page is open. */
let begun = false;

/** @param {import("./main.js").Place} place */
export async function basket(place) {
  const since = await changesYet();
  const { pieces, readings } = await get("/api/pieces");
  if (!place.is("#/")) return;
  const open = openPieces();
  const isAway = (/** @type {any} */ piece) => piece.turn?.[0] === "put-down";
  const [away, out] = [pieces.filter(isAway), pieces.filter((/** @type {any} */ piece) => !isAway(piece))];
  const isOut = (/** @type {any} */ reading) => !reading.away;
  const [half, left] = [readings.filter(isOut), readings.filter((/** @type {any} */ reading) => !isOut(reading))];
  const bring = filePicker(words.takeIn, ".json,application/json,.pdf,application/pdf", place.take, "plain", true);
  const begin = make("a", { class: "button first", href: "#/begin" }, words.begin);
  const count = out.length + half.length;
  const main = make("main", { class: count ? "basket" : "empty" });
  if (count) {
    const list = make("ul", { class: "pieces" });
    for (const reading of half) list.append(make("li", {}, halfRead(place, reading)));
    for (const piece of out) list.append(make("li", {}, label(place, piece, open)));
    main.append(list);
  } else {
    main.append(hoop(), make("p", {}, pieces.length || readings.length ? words.basketAllAway : words.basketEmptyDo));
  }
  if (away.length || left.length) main.append(putAway(place, away, left));
  if (count) main.append(make("p", { class: "quiet" }, words.dropHere));
  const runs = make("p", { class: "quiet runs" }, words.runsOn, make("button", { type: "button", class: "plain", onclick: () => closeAll(place) }, words.closeBrede));
  if (pieces.length || readings.length) main.append(runs);
  const where = count ? words.basketWhere(count) : words.basketEmpty;
  place.show(words.basket, where, main, make("footer", { class: "edge" }, bring, begin));
  place.onLeave(onNews(() => {
    // What is being written is not taken from under the hand.
    if (!document.activeElement?.closest(".changes input")) basket(place).catch(place.trouble);
  }, since));
  if (!pieces.length && !readings.length && !begun) await firstPiece(place, main);
}

/** Which pieces have their changes opened, so that a list that is drawn anew has them too. */
function openPieces() {
  return new Set([...document.querySelectorAll("details.changes[open]")].map((element) => /** @type {HTMLElement} */ (element).dataset.piece));
}

/** Where nothing was kept yet, a piece is made to look at. @param {import("./main.js").Place} place @param {HTMLElement} main */
async function firstPiece(place, main) {
  begun = true;
  const line = make("div", { class: "busy" });
  const said = make("p", { role: "status" }, words.samplePiece);
  main.append(said, line);
  await work("/api/sample", {}, (event, data) => {
    if (event !== "stage") return;
    const stage = words.stages[data.stage] ?? words.making;
    line.replaceChildren(runningStitch(data.hundredths / 100, words.stageAt(stage, data.hundredths)));
  });
  if (place.is("#/")) await basket(place);
}

/** Pieces in their bags, and printed charts that nobody reads on. @param {import("./main.js").Place} place @param {any[]} away @param {any[]} left */
function putAway(place, away, left) {
  const list = make("ul", { class: "away" });
  for (const piece of away) {
    const back = make("button", { type: "button", class: "plain", onclick: () => act(place, piece, "bring-back", words.broughtBack(piece.name)) }, words.bringBack);
    back.setAttribute("aria-label", words.bringBackPiece(piece.name));
    list.append(make("li", {}, make("a", { href: `#/piece/${piece.id}` }, piece.name), make("span", { class: "quiet" }, farInWords(piece)), back));
  }
  for (const reading of left) {
    const back = make("button", { type: "button", class: "plain", onclick: () => turn(place, reading, "bring-back", words.broughtBack(reading.name)) }, words.bringBack);
    back.setAttribute("aria-label", words.bringBackPiece(reading.name));
    list.append(make("li", {}, make("a", { href: `#/read/${reading.id}` }, reading.name), make("span", { class: "quiet" }, howRead(reading)), back));
  }
  return make("section", { class: "put-away" }, make("h2", {}, words.putAwayPieces(away.length + left.length)), list);
}

/** @param {any} piece */
function farInWords(piece) {
  if (!piece.done) return words.notBegun;
  return piece.percent === 100 ? words.finished : words.percent(number(piece.percent, piece.percent < 10 ? 1 : 0));
}

/**
 * Changes a piece and shows the list anew; what was done can be taken back at once.
 * @param {import("./main.js").Place} place @param {any} piece @param {unknown} what @param {string} said
 * @param {{ what: unknown, text: string }} [back]
 */
async function act(place, piece, what, said, back) {
  try {
    await change(`/api/pieces/${piece.id}/change`, what);
    place.say(said, back && { text: words.undo, does: () => act(place, piece, back.what, back.text) });
    if (place.is("#/")) await basket(place);
    focusOn(piece.id);
  } catch (error) {
    place.trouble(error);
  }
}

/** How far a printed chart is read. @param {any} reading */
function howRead({ open }) {
  if (open === null) return words.notReadYet;
  return open ? words.halfRead(open) : words.readNotKept;
}

/** A printed chart in the list. @param {import("./main.js").Place} place @param {any} reading */
function halfRead(place, reading) {
  const picture = make("img", { alt: "", class: "piece-picture" });
  if (reading.size) pictureFrom(place, picture, `/api/readings/${reading.id}/picture`);
  const far = howRead(reading);
  const known = reading.symbols ? (reading.symbols - reading.open) / reading.symbols : 0;
  const facts = [reading.size && words.paperSize(reading.size.columns, reading.size.rows), reading.last_day && words.lastDay(dayInWords(reading.last_day))];
  const away = make("button", { type: "button", class: "plain", onclick: () => turn(place, reading, "put-away", words.didPutAway(reading.name), { what: "bring-back", text: words.broughtBack(reading.name) }) }, words.putAway);
  away.setAttribute("aria-label", words.putAwayPiece(reading.name));
  return make(
    "article",
    { class: "piece" },
    make("a", { class: "piece-look", href: `#/read/${reading.id}`, tabIndex: -1, "aria-hidden": "true" }, picture),
    make("a", { class: "piece-link", href: `#/read/${reading.id}` },
      make("span", { class: "piece-words" }, make("strong", {}, reading.name), make("span", {}, far), runningStitch(known, far), make("span", { class: "quiet" }, facts.filter(Boolean).join(", ")))),
    make("div", { class: "changes" }, away),
  );
}

/** Puts a printed chart away, or brings it back. @param {import("./main.js").Place} place @param {any} reading @param {string} what @param {string} said @param {{ what: string, text: string }} [back] */
async function turn(place, reading, what, said, back) {
  try {
    await change(`/api/readings/${reading.id}/change`, what);
    place.say(said, back && { text: words.undo, does: () => turn(place, reading, back.what, back.text) });
    if (place.is("#/")) await basket(place);
  } catch (error) {
    place.trouble(error);
  }
}

/** @param {import("./main.js").Place} place @param {HTMLImageElement} picture @param {string} from */
function pictureFrom(place, picture, from) {
  ask(from)
    .then((answer) => answer.blob())
    .then((blob) => {
      picture.src = URL.createObjectURL(blob);
      place.onLeave(() => URL.revokeObjectURL(picture.src));
    })
    .catch(() => picture.remove());
}

/** Keys go on where they were in the list that was drawn anew. @param {string} id of a piece */
function focusOn(id) {
  const summary = document.querySelector(`details.changes[data-piece="${id}"] summary`) ?? document.querySelector(".edge .first");
  /** @type {HTMLElement | null} */ (summary)?.focus({ preventScroll: true });
}

/** A piece in the list. @param {import("./main.js").Place} place @param {any} piece @param {Set<string | undefined>} open */
function label(place, piece, open) {
  const picture = make("img", { alt: "", class: "piece-picture" });
  pictureFrom(place, picture, `/api/pieces/${piece.id}/picture`);
  const share = piece.percent === null ? null : piece.percent / 100;
  const far = farInWords(piece);
  const facts = [far];
  if (piece.last_day) facts.push(words.lastDay(dayInWords(piece.last_day)));
  if (piece.size) picture.style.aspectRatio = `${piece.size.columns} / ${piece.size.rows}`;
  const size = piece.size && words.pieceSize(piece.size.columns, piece.size.rows, piece.count ?? "");
  return make(
    "article",
    { class: "piece" },
    // Pressed like the words beside it, and named by them alone.
    make("a", { class: "piece-look", href: `#/piece/${piece.id}`, tabIndex: -1, "aria-hidden": "true" }, picture),
    make(
      "a",
      { class: "piece-link", href: `#/piece/${piece.id}` },
      make(
        "span",
        { class: "piece-words" },
        make("strong", {}, piece.name),
        make("span", {}, facts.join(", ")),
        runningStitch(share, far),
        make("span", { class: "quiet" }, [size, piece.threads && words.threadsOf(piece.threads)].filter(Boolean).join(", ")),
      ),
    ),
    changes(place, piece, open.has(piece.id)),
  );
}

/** What can be done to a piece as a whole. @param {import("./main.js").Place} place @param {any} piece @param {boolean} isOpen */
function changes(place, piece, isOpen) {
  const name = make("input", { type: "text", value: piece.name, maxLength: 120, required: true, "aria-label": words.nameOf(piece.name) });
  const rename = make(
    "form",
    {
      class: "row",
      onsubmit: (/** @type {Event} */ event) => {
        event.preventDefault();
        const called = name.value.trim();
        if (!called || called === piece.name) return;
        act(place, piece, { name: called }, words.renamed(piece.name, called), { what: { name: piece.name }, text: words.renamed(called, piece.name) });
      },
    },
    name,
    make("button", { class: "plain" }, words.rename),
  );
  const copy = async () => {
    try {
      const told = await change(`/api/pieces/${piece.id}/copy`, { name: words.copyOf(piece.name) });
      place.say(words.keptNew(told.name));
      await basket(place);
      focusOn(told.piece);
    } catch (error) {
      place.trouble(error);
    }
  };
  const away = () => act(place, piece, "put-away", words.didPutAway(piece.name), { what: "bring-back", text: words.broughtBack(piece.name) });
  const summary = make("summary", {}, words.changePiece);
  summary.setAttribute("aria-label", words.changePieceOf(piece.name));
  const element = make(
    "details",
    { class: "changes", open: isOpen },
    summary,
    rename,
    make("div", { class: "row" }, make("button", { type: "button", class: "plain", onclick: copy }, words.copy), make("button", { type: "button", class: "plain", onclick: away }, words.putAway)),
  );
  element.dataset.piece = piece.id;
  return element;
}

/** Closes brede itself. @param {import("./main.js").Place} place */
async function closeAll(place) {
  try {
    await change("/api/close", {});
    place.closed();
  } catch (error) {
    place.trouble(error);
  }
}
