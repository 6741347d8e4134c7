// A piece: its chart to look at, and the threads it takes.

import { get } from "./ask.js";
import { chartOf } from "./chart.js";
import { make } from "./make.js";
import { onPaper } from "./onpaper.js";
import { button, choice, field, fullScreen, patch, quiet, signButton } from "./parts.js";
import { symbolFont } from "./tiles.js";
import { number } from "./units.js";
import { threadInWords, View } from "./view.js";
import { counted, words } from "./words.js";

/** @typedef {import("./tiles.js").Show} Show */

/** Threads that are laid out at once. */
const AT_ONCE = 8;

/** A pause in which fingers are answered and what is there is drawn; a window that nobody sees draws nothing. */
const rest = () =>
  new Promise((resolve) => {
    requestAnimationFrame(() => setTimeout(resolve));
    setTimeout(resolve, 100);
  });

/** @param {import("./main.js").Place} place @param {string} id */
export async function piece(place, id) {
  place.show(words.opening, "", make("main", "empty"));
  const [chart, printed] = await Promise.all([chartOf(`/api/pieces/${id}/chart`), get(`/api/pieces/${id}/pages`), symbolFont()]);
  await rest();
  if (!place.is(`#/piece/${id}`)) return;
  const { look } = chart;
  const said = make("p", { class: "here", role: "status" });
  const view = new View(chart, (row, column, needle) => {
    said.textContent = words.square(row, column, threadInWords(look, needle));
  });
  // Where the chart came from paper, the symbols of the paper can be seen instead of ours.
  const hasPaper = look.needles.some((needle) => needle.printed?.length);
  const chosen = localStorage.getItem("show") ?? "both";
  const kept = /** @type {Show} */ (chosen === "printed" && !hasPaper ? "both" : chosen);
  view.tiles.show = kept;

  await rest();
  const threads = make("div", "threads");
  const keys = look.needles.map((needle, at) => {
    const symbol = make("span", "symbol", needle.character);
    const paper = make("span", "papers", ...(needle.printed ?? []).map((shapes) => onPaper(shapes, null, words.onPaper)));
    return make(
      "button",
      { type: "button", class: "thread", "aria-pressed": "false", onclick: () => front(view.tiles.front === at ? null : at) },
      symbol,
      hasPaper && paper,
      patch(needle.colour),
      make("strong", {}, needle.code),
      make("span", "thread-name", needle.name === needle.code ? "" : needle.name),
      make("span", { class: "amount", title: counted.stitches(needle.stitches) }, number(needle.stitches)),
    );
  });
  const alike = button(words.keyAll, () => front(null));
  alike.style.visibility = "hidden";
  const front = (/** @type {number | null} */ needle) => {
    view.tiles.front = needle;
    keys.forEach((key, at) => key.setAttribute("aria-pressed", String(at === needle)));
    // Its place stays free.
    alike.style.visibility = needle === null ? "hidden" : "";
    sheet(false);
    said.textContent = needle === null ? words.keyShown : words.keyFront(threadInWords(look, needle));
    view.moved();
  };
  // Where there is little room, the threads are a sheet over the chart.
  const sheet = (/** @type {boolean} */ isOpen) => {
    const wasOpen = key.classList.contains("open");
    key.classList.toggle("open", isOpen);
    opener.setAttribute("aria-expanded", String(isOpen));
    if (wasOpen && !isOpen) opener.focus({ preventScroll: true });
  };
  const close = signButton(words.close, "×", () => sheet(false));
  close.classList.add("key-opener");
  const lines = [...new Map(look.lines.map((line) => [line.label, line])).values()];
  const key = make(
    "aside",
    { class: hasPaper ? "key has-paper" : "key", id: "key", "aria-label": words.key },
    make("div", "row", make("h2", {}, counted.threads(look.threads)), alike, close),
    hasPaper && quiet(words.besidePaper),
    chart.figures.reading && make("a", { href: `#/read/${chart.figures.reading}` }, words.itsPaper),
    threads,
    ...lines.filter((line) => line.label).map((line) => {
      return make("p", "line", patch(line.colour, "stroke"), make("strong", {}, line.code), line.label);
    }),
  );
  const opener = button(words.key, () => sheet(!key.classList.contains("open")), "key-opener", { "aria-controls": "key", "aria-expanded": "false" });

  const row = make("input", { type: "number", min: 1, max: look.size.rows });
  const column = make("input", { type: "number", min: 1, max: look.size.columns });
  /** @type {{ number: number, columns: [number, number], rows: [number, number] }[]} */
  const pages = printed.pages;
  const page = make("select", { id: "page", "aria-label": words.goPage, onchange: () => {
    const found = pages.find((one) => String(one.number) === page.value);
    if (found) view.part([found.columns[0], Math.min(found.columns[1], look.size.columns)], [found.rows[0], Math.min(found.rows[1], look.size.rows)]);
    ways.open = false;
  } }, make("option", { value: "" }, "–"), ...pages.map((one) => make("option", {}, String(one.number))));
  const go = make(
    "form",
    { class: "go", onsubmit: () => {
      view.go(Number(row.value) || view.focus?.row || 1, Number(column.value) || view.focus?.column || 1);
      ways.open = false;
    } },
    field(words.goRow, row),
    field(words.goColumn, column),
    make("button", {}, words.go),
    pages.length > 0 && field(words.goPage, page),
  );
  const ways = make("details", "ways", make("summary", "button", words.goTo), go);
  const shows = choice(
    "show",
    [["symbols", words.showSymbols], ["colours", words.showColours], ["both", words.showBoth], ["stitched", words.showStitched], .../** @type {[string, string][]} */ (hasPaper ? [["printed", words.showPrinted]] : [])],
    kept,
    (value) => {
      view.tiles.show = /** @type {Show} */ (value);
      localStorage.setItem("show", value);
      view.moved();
    },
    words.show,
  );
  const squares = `${look.size.columns} × ${look.size.rows}`;
  // Chart, key and tools together, so that they have the screen together.
  const parts = make("main", "piece-place");
  const tools = make(
    "div",
    "edge tools",
    said,
    shows,
    make("span", "sizes", signButton(words.smaller, "−", () => view.zoom(-1)), signButton(words.larger, "+", () => view.zoom(1)), button(words.whole, () => view.fit())),
    ways,
    fullScreen(() => parts),
    opener,
    make("a", { class: "button first", href: `#/piece/${id}/print` }, words.print),
  );
  parts.onkeydown = ({ key }) => {
    if (key !== "Escape") return;
    sheet(false);
    ways.open = false;
  };
  parts.append(tools);
  // What was built is laid out part by part.
  await rest();
  if (!place.is(`#/piece/${id}`)) return view.leave();
  place.show(chart.figures.name, words.pieceWhere(squares, look.threads), parts);
  place.onLeave(() => view.leave());
  await rest();
  parts.prepend(view.element);
  view.resized();
  await rest();
  view.element.after(key);
  for (let at = 0; at < keys.length; at += AT_ONCE) {
    await rest();
    threads.append(...keys.slice(at, at + AT_ONCE));
  }
}
