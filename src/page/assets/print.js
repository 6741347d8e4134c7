// Print: which paper, which ink, how large the squares; then the pages, and what came of reading them back.

import { get, isAbort, shown, work } from "./ask.js";
import { beginAgain } from "./begin.js";
import { chartOf } from "./chart.js";
import { make, pen } from "./make.js";
import { button, choice, question, questions, signButton, workLine } from "./parts.js";
import { symbolFont, Tiles } from "./tiles.js";
import { fileSize, number, paper, PIXEL } from "./units.js";
import { words } from "./words.js";

/** Sides of squares in millimetres that are read at arm's length, and one for tired eyes. */
const SQUARES = ["2.5", "3", "3.5", "4.5"];

/** How much of the chart is shown at true size, in millimetres. */
const PATCH = [84, 36];

/** @param {import("./main.js").Place} place @param {string} id */
export async function print(place, id) {
  const [chart, known, { own }] = await Promise.all([chartOf(`/api/pieces/${id}/chart`), get("/api/card/threads"), get("/api/card"), symbolFont()]);
  if (!place.is(`#/piece/${id}/print`)) return;
  // Who prints threads that nobody sells should know before she goes to the shop.
  const invented = new Set(own ? [] : known.shades.map((/** @type {any} */ shade) => `${shade.code} ${shade.name}`));
  const isInvented = chart.look.needles.some(({ code, name }) => invented.has(`${code} ${name}`));
  const made = isInvented && (await get(`/api/pieces/${id}/begun`));
  const asked = { paper: paper(), ink: "colour", cell: "" };
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
    tiles.draw(pen(patch), side, [left, top, across, down]);
  };

  // A page as it will come out of the printer; the old one stands until the new one is there.
  const picture = make("img", { class: "sheet", alt: "" });
  const sheetSaid = make("p", { role: "status" });
  const which = make("span", "which");
  let at = /** @type {number | null} */ (null);
  let all = 1;
  /** @type {AbortController | null} */
  let looking = null;
  let timer = 0;
  const settings = () => ({ paper: asked.paper, grey: asked.ink === "grey", cell: asked.cell ? Number(asked.cell) : null, large: false });
  const look = (pause = 0) => {
    clearTimeout(timer);
    looking?.abort();
    const mine = (looking = new AbortController());
    timer = setTimeout(async () => {
      const late = setTimeout(() => (sheetSaid.textContent = words.layingOut), 1000);
      try {
        const { figures, rest } = await shown(`/api/pieces/${id}/page`, { pages: settings(), number: at }, mine.signal);
        const url = URL.createObjectURL(new Blob([rest], { type: "image/png" }));
        picture.onload = () => URL.revokeObjectURL(url);
        picture.src = url;
        picture.alt = words.pageShown(figures.number, figures.pages);
        [at, all] = [figures.number, figures.pages];
        which.textContent = words.pageOf(figures.number, figures.pages);
        sheetSaid.textContent = words.pagesWillBe(figures.pages, figures.chart_pages, number(figures.cell_mm, 1));
      } finally {
        clearTimeout(late);
      }
    }, pause);
  };
  const turn = (/** @type {number} */ by) => {
    at = Math.max(1, Math.min(all, (at ?? 1) + by));
    which.textContent = words.pageOf(at, all);
    look(120);
  };

  const state = make("p");
  const line = workLine(words.makingPages);
  const came = make("section", { class: "came", "aria-live": "polite" }, state, line.element);
  const begin = button(words.makePages, () => run(), "first");
  const open = make("a", { class: "button first", target: "_blank", rel: "noopener", hidden: true });
  const save = make("a", { class: "button", download: "", hidden: true }, words.savePages);
  /** @type {AbortController | null} */
  let stopping = null;
  const stale = () => {
    stopping?.abort();
    state.textContent = "";
    line.element.replaceChildren();
    open.hidden = save.hidden = true;
    begin.hidden = begin.disabled = false;
    sample();
    // Other paper, other pages: the first of the chart again.
    at = null;
    look();
  };
  const run = async () => {
    stopping?.abort();
    const mine = (stopping = new AbortController());
    begin.disabled = true;
    state.textContent = words.makingPages;
    state.className = "";
    line.begin();
    try {
      const found = await work(
        `/api/pieces/${id}/pages`,
        settings(),
        (event, data) => {
          if (event === "pages") {
            // One thing is done first: now it is to open them, where they were asked for.
            const isLed = document.activeElement === document.body || document.activeElement === begin;
            open.href = save.href = data.sheets;
            open.textContent = words.openPages(data.figures.pages, fileSize(data.bytes));
            open.hidden = save.hidden = false;
            begin.hidden = true;
            if (isLed) open.focus({ preventScroll: true });
            state.textContent = words.checking;
          } else line.heard(event, data);
        },
        mine.signal,
      );
      const wrong = [];
      if (found.wrong) wrong.push(words.checkedWrong(found.wrong, found.squares));
      if (found.wrong_outlines) wrong.push(words.checkedWrongOutlines(found.wrong_outlines));
      state.textContent = wrong.join(" ") || words.checkedRight(found.squares, found.pages);
      state.className = wrong.length ? "warns" : "done";
    } catch (error) {
      if (isAbort(error)) return;
      state.textContent = "";
      place.trouble(error);
    } finally {
      if (stopping === mine) {
        line.element.replaceChildren();
        begin.disabled = false;
      }
    }
  };

  place.show(
    words.printTitle(chart.figures.name),
    "",
    make(
      "main",
      "print",
      make("section", "sample",
        sheetSaid,
        make("figure", {}, picture, make("figcaption", "row", signButton(words.pageBefore, "‹", () => turn(-1)), which, signButton(words.pageAfter, "›", () => turn(1)))),
        make("figure", {}, patch, make("figcaption", "quiet", words.trueSize))),
      questions(
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
        isInvented && make("p", "warns", words.inventedThreads),
        made && button(words.beginAgain, () => beginAgain(place, `/api/pieces/${id}`, made)),
      ),
    ),
    make("footer", "edge", came, begin, save, open),
  );
  place.onLeave(() => {
    stopping?.abort();
    looking?.abort();
  });
  sample();
  look();
}
