// The workbasket: all pieces, each with its picture and how far it is.

import { ask, get } from "./ask.js";
import { filePicker } from "./begin.js";
import { make, runningStitch } from "./make.js";
import { dayInWords, number } from "./units.js";
import { words } from "./words.js";

/** @param {import("./main.js").Place} place */
export async function basket(place) {
  const { pieces } = await get("/api/pieces");
  if (!place.is("#/")) return;
  const bring = filePicker(words.takeIn, ".json,application/json", place.take, pieces.length ? "plain" : "");
  const begin = make("a", { class: "button first", href: "#/begin" }, words.begin);
  const edge = make("footer", { class: "edge" }, bring, begin);
  if (!pieces.length) {
    place.show(
      words.basket,
      words.basketEmpty,
      make("main", { class: "empty" }, hoop(), make("p", {}, words.basketEmptyDo), make("p", { class: "quiet" }, words.dropHere)),
      edge,
    );
    return;
  }
  const list = make("ul", { class: "pieces" });
  for (const piece of pieces) list.append(make("li", {}, label(place, piece)));
  place.show(words.basket, words.basketWhere(pieces.length), make("main", {}, list, make("p", { class: "quiet" }, words.dropHere)), edge);
}

/** A piece in the list. @param {import("./main.js").Place} place @param {any} piece */
function label(place, piece) {
  const picture = make("img", { alt: "", class: "piece-picture" });
  ask(`/api/pieces/${piece.id}/picture`)
    .then((answer) => answer.blob())
    .then((blob) => {
      picture.src = URL.createObjectURL(blob);
      place.onLeave(() => URL.revokeObjectURL(picture.src));
    })
    .catch(() => picture.remove());
  const share = piece.percent === null ? null : piece.percent / 100;
  const far = !piece.done ? words.notBegun : piece.percent === 100 ? words.finished : words.percent(number(piece.percent, piece.percent < 10 ? 1 : 0));
  const facts = [far];
  if (piece.last_day) facts.push(words.lastDay(dayInWords(piece.last_day)));
  return make(
    "a",
    { class: "piece", href: `#/piece/${piece.id}` },
    picture,
    make(
      "span",
      { class: "piece-words" },
      make("strong", {}, piece.name),
      make("span", {}, facts.join(", ")),
      runningStitch(share, far),
      piece.size && make("span", { class: "quiet" }, words.pieceSize(piece.size.columns, piece.size.rows, piece.count ?? "")),
    ),
  );
}

/** A hoop with nothing in it but a first thread. */
function hoop() {
  const space = "http://www.w3.org/2000/svg";
  const svg = document.createElementNS(space, "svg");
  svg.setAttribute("viewBox", "0 0 240 240");
  svg.setAttribute("class", "hoop");
  svg.setAttribute("aria-hidden", "true");
  for (const [kind, d] of [
    ["cloth", "M20 120a100 100 0 1 1 200 0a100 100 0 1 1-200 0"],
    ["rim", "M20 120a100 100 0 1 1 200 0a100 100 0 1 1-200 0"],
    ["screw", "M108 6h24v18h-24z"],
    ["thread", "M84 100l24 24m0-24l-24 24M112 100l24 24m0-24l-24 24M140 100l24 24m0-24l-24 24M98 128l24 24m0-24l-24 24M126 128l24 24m0-24l-24 24"],
  ]) {
    const path = document.createElementNS(space, "path");
    path.setAttribute("class", kind);
    path.setAttribute("d", d);
    svg.append(path);
  }
  return svg;
}
