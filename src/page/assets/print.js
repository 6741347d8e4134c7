// Print: which paper, which ink, how large the squares; then the pages, and what came of reading them back.

import { work } from "./ask.js";
import { choice, question } from "./begin.js";
import { chartOf } from "./chart.js";
import { make, runningStitch } from "./make.js";
import { symbolFont, Tiles } from "./tiles.js";
import { fileSize, number } from "./units.js";
import { words } from "./words.js";

/** Sides of squares in millimetres that are read at arm's length, and one for tired eyes. */
const SQUARES = ["2.5", "3", "3.5", "4.5"];

/** A CSS pixel in millimetres (W3C, CSS Values and Units 4, 6.2). */
const PIXEL = 25.4 / 96;

/** How much of the chart is shown at true size, in millimetres. */
const PATCH = [84, 36];

/** @param {import("./main.js").Place} place @param {string} id */
export async function print(place, id) {
  const [chart] = await Promise.all([chartOf(`/api/pieces/${id}/chart`), symbolFont()]);
  if (!place.is(`#/piece/${id}/print`)) return;
  const asked = { paper: localStorage.getItem("paper") ?? "a4", ink: "colour", cell: "" };
  const patch = make("canvas", { class: "patch-of-chart", role: "img", "aria-label": words.trueSize });
  const sample = () => {
    const scale = devicePixelRatio || 1;
    const side = Math.round((Number(asked.cell || "3") / PIXEL) * scale);
    const tiles = new Tiles(chart);
    tiles.show = "both";
    tiles.grey = asked.ink === "grey";
    const [across, down] = [
      Math.min(tiles.columns, Math.floor((PATCH[0] / PIXEL) * scale / side)),
      Math.min(tiles.rows, Math.floor((PATCH[1] / PIXEL) * scale / side)),
    ];
    patch.width = across * side;
    patch.height = down * side;
    patch.style.inlineSize = `${patch.width / scale}px`;
    const [left, top] = [Math.floor((tiles.columns - across) / 2), Math.floor((tiles.rows - down) / 2)];
    tiles.draw(/** @type {CanvasRenderingContext2D} */ (patch.getContext("2d")), side, left, top, across, down);
  };

  const came = make("section", { class: "came", "aria-live": "polite" });
  const button = make("button", { type: "button", class: "first", onclick: () => run() }, words.makePages);
  /** @type {AbortController | null} */
  let stopping = null;
  const stale = () => {
    stopping?.abort();
    came.replaceChildren();
    button.disabled = false;
    sample();
  };
  const run = async () => {
    stopping?.abort();
    const mine = (stopping = new AbortController());
    button.disabled = true;
    const state = make("p", {}, words.makingPages);
    const line = make("div", { class: "busy" }, runningStitch(0, words.makingPages));
    came.replaceChildren(state, line);
    try {
      const found = await work(
        `/api/pieces/${id}/pages`,
        { paper: asked.paper, grey: asked.ink === "grey", cell: asked.cell ? Number(asked.cell) : null, large: false },
        (event, data) => {
          if (event === "pages") {
            const { figures } = data;
            came.replaceChildren(
              make("p", {}, make("a", { class: "button first", href: data.sheets, target: "_blank", rel: "noopener" }, words.openPages(figures.pages, fileSize(data.bytes)))),
              make("p", {}, words.pagesAre(figures.chart_pages, number(figures.cell_mm, 2))),
              state,
              line,
            );
            state.textContent = words.checking;
          } else if (event === "stage") {
            const stage = words.stages[data.stage] ?? words.makingPages;
            line.replaceChildren(runningStitch(data.hundredths / 100, words.stageAt(stage, data.hundredths)));
          }
        },
        mine.signal,
      );
      state.textContent = found.wrong ? words.checkedWrong(found.wrong, found.squares) : words.checkedRight(found.squares, found.pages);
      state.className = found.wrong ? "warns" : "done";
    } catch (error) {
      if (error instanceof DOMException && error.name === "AbortError") return;
      state.remove();
      place.trouble(error);
    } finally {
      line.remove();
      if (stopping === mine) button.disabled = false;
    }
  };

  place.show(
    words.printTitle(chart.look.title),
    words.printTitle(chart.look.title),
    make(
      "main",
      { class: "print" },
      make(
        "form",
        { class: "questions", onsubmit: (/** @type {Event} */ event) => event.preventDefault() },
        question(words.paper, choice("paper", [["a4", "A4"], ["letter", "Letter"], ["a3", "A3"]], asked.paper, (value) => {
          asked.paper = value;
          localStorage.setItem("paper", value);
          stale();
        }, words.paper)),
        question(words.ink, choice("ink", [["colour", words.inkColour], ["grey", words.inkGrey]], asked.ink, (value) => {
          asked.ink = value;
          stale();
        }, words.ink)),
        question(words.squares, choice("cell", [["", words.squaresFit], ...SQUARES.map((mm) => /** @type {[string, string]} */ ([mm, words.squaresOf(number(Number(mm), 1))]))], asked.cell, (value) => {
          asked.cell = value;
          stale();
        }, words.squares)),
      ),
      make("section", { class: "sample" }, patch, make("p", { class: "quiet" }, words.trueSize), came),
    ),
    make("footer", { class: "edge" }, button),
  );
  place.onLeave(() => stopping?.abort());
  sample();
}
