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
  const { pieces } = await get("/api/pieces");
  if (!place.is("#/")) return;
  const open = openPieces();
  const isAway = (/** @type {any} */ piece) => piece.turn?.[0] === "put-down";
  const [away, out] = [pieces.filter(isAway), pieces.filter((/** @type {any} */ piece) => !isAway(piece))];
  const bring = filePicker(words.takeIn, ".json,application/json", place.take, "plain");
  const begin = make("a", { class: "button first", href: "#/begin" }, words.begin);
  const main = make("main", { class: out.length ? "basket" : "empty" });
  if (out.length) {
    const list = make("ul", { class: "pieces" });
    for (const piece of out) list.append(make("li", {}, label(place, piece, open)));
    main.append(list);
  } else {
    main.append(hoop(), make("p", {}, pieces.length ? words.basketAllAway : words.basketEmptyDo));
  }
  if (away.length) main.append(putAway(place, away));
  if (out.length) main.append(make("p", { class: "quiet" }, words.dropHere));
  const runs = make("p", { class: "quiet runs" }, words.runsOn, make("button", { type: "button", class: "plain", onclick: () => closeAll(place) }, words.closeBrede));
  if (pieces.length) main.append(runs);
  const where = out.length ? words.basketWhere(out.length) : words.basketEmpty;
  place.show(words.basket, where, main, make("footer", { class: "edge" }, bring, begin));
  place.onLeave(onNews(() => {
    // What is being written is not taken from under the hand.
    if (!document.activeElement?.closest(".changes input")) basket(place).catch(place.trouble);
  }, since));
  if (!pieces.length && !begun) await firstPiece(place, main);
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

/** Pieces in their bags. @param {import("./main.js").Place} place @param {any[]} away */
function putAway(place, away) {
  const list = make("ul", { class: "away" });
  for (const piece of away) {
    const back = make("button", { type: "button", class: "plain", onclick: () => act(place, piece, "bring-back", words.broughtBack(piece.name)) }, words.bringBack);
    back.setAttribute("aria-label", words.bringBackPiece(piece.name));
    list.append(make("li", {}, make("a", { href: `#/piece/${piece.id}` }, piece.name), make("span", { class: "quiet" }, farInWords(piece)), back));
  }
  return make("section", { class: "put-away" }, make("h2", {}, words.putAwayPieces(away.length)), list);
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

/** Keys go on where they were in the list that was drawn anew. @param {string} id of a piece */
function focusOn(id) {
  const summary = document.querySelector(`details.changes[data-piece="${id}"] summary`) ?? document.querySelector(".edge .first");
  /** @type {HTMLElement | null} */ (summary)?.focus({ preventScroll: true });
}

/** A piece in the list. @param {import("./main.js").Place} place @param {any} piece @param {Set<string | undefined>} open */
function label(place, piece, open) {
  const picture = make("img", { alt: "", class: "piece-picture" });
  ask(`/api/pieces/${piece.id}/picture`)
    .then((answer) => answer.blob())
    .then((blob) => {
      picture.src = URL.createObjectURL(blob);
      place.onLeave(() => URL.revokeObjectURL(picture.src));
    })
    .catch(() => picture.remove());
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
