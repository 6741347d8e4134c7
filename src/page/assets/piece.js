// A piece: its chart to look at, and the threads it takes.

import { get } from "./ask.js";
import { choice, fullScreen } from "./begin.js";
import { chartOf } from "./chart.js";
import { make } from "./make.js";
import { onPaper } from "./onpaper.js";
import { symbolFont } from "./tiles.js";
import { number } from "./units.js";
import { threadInWords, View } from "./view.js";
import { counted, words } from "./words.js";

/** @param {import("./main.js").Place} place @param {string} id */
export async function piece(place, id) {
  place.show(words.opening, words.opening, make("main", { class: "empty" }));
  const [chart, printed] = await Promise.all([chartOf(`/api/pieces/${id}/chart`), get(`/api/pieces/${id}/pages`), symbolFont()]);
  if (!place.is(`#/piece/${id}`)) return;
  const { look } = chart;
  const said = make("p", { class: "here", role: "status" });
  const view = new View(chart, (row, column, needle) => {
    said.textContent = words.square(row, column, threadInWords(look, needle));
  });
  // Where the chart came from paper, the symbols of the paper can be seen instead of ours.
  const hasPaper = look.needles.some((needle) => needle.printed?.length);
  const chosen = localStorage.getItem("show") ?? "both";
  const kept = /** @type {import("./tiles.js").Show} */ (chosen === "printed" && !hasPaper ? "both" : chosen);
  view.tiles.show = kept;

  const keys = look.needles.map((needle, at) => {
    const symbol = make("span", { class: "symbol" }, needle.character);
    const paper = make("span", { class: "papers" }, ...(needle.printed ?? []).map((shapes) => onPaper(shapes, null, words.onPaper)));
    const patch = make("span", { class: "patch" });
    patch.style.backgroundColor = needle.colour;
    return make(
      "button",
      { type: "button", class: "thread", "aria-pressed": "false", onclick: () => front(view.tiles.front === at ? null : at) },
      symbol,
      hasPaper && paper,
      patch,
      make("strong", {}, needle.code),
      make("span", { class: "thread-name" }, needle.name === needle.code ? "" : needle.name),
      make("span", { class: "amount", title: counted.stitches(needle.stitches) }, number(needle.stitches)),
    );
  });
  const alike = make("button", { type: "button", class: "plain", hidden: true, onclick: () => front(null) }, words.keyAll);
  const front = (/** @type {number | null} */ needle) => {
    view.tiles.front = needle;
    keys.forEach((key, at) => key.setAttribute("aria-pressed", String(at === needle)));
    alike.hidden = needle === null;
    said.textContent = needle === null ? words.keyAll : words.keyFront(threadInWords(look, needle));
    view.moved();
  };
  const lines = look.lines.length ? [...new Map(look.lines.map((line) => [line.label, line])).values()] : [];
  const key = make(
    "aside",
    { class: hasPaper ? "key has-paper" : "key", id: "key", "aria-label": words.key },
    make("h2", {}, counted.threads(look.threads)),
    hasPaper && make("p", { class: "quiet" }, words.besidePaper),
    chart.figures.reading && make("a", { href: `#/read/${chart.figures.reading}` }, words.itsPaper),
    alike,
    make("div", { class: "threads" }, ...keys),
    ...lines.filter((line) => line.label).map((line) => {
      const stroke = make("span", { class: "stroke" });
      stroke.style.backgroundColor = line.colour;
      return make("p", { class: "line" }, stroke, make("strong", {}, line.code), line.label);
    }),
  );
  const opener = make("button", { type: "button", class: "plain key-opener", "aria-controls": "key", "aria-expanded": "false", onclick: () => {
    const open = key.classList.toggle("open");
    opener.setAttribute("aria-expanded", String(open));
  } }, words.key);

  const row = make("input", { type: "number", min: "1", max: String(look.size.rows), id: "row" });
  const column = make("input", { type: "number", min: "1", max: String(look.size.columns), id: "column" });
  /** @type {{ number: number, columns: [number, number], rows: [number, number] }[]} */
  const pages = printed.pages;
  const page = make("select", { id: "page", onchange: () => {
    const found = pages.find((one) => String(one.number) === page.value);
    if (found) view.part([found.columns[0], Math.min(found.columns[1], look.size.columns)], [found.rows[0], Math.min(found.rows[1], look.size.rows)]);
    ways.open = false;
  } }, make("option", { value: "" }, "–"), ...pages.map((one) => make("option", { value: String(one.number) }, String(one.number))));
  const go = make(
    "form",
    { class: "go", onsubmit: (/** @type {Event} */ event) => {
      event.preventDefault();
      view.go(Number(row.value) || view.focus?.row || 1, Number(column.value) || view.focus?.column || 1);
      ways.open = false;
    } },
    make("span", { class: "field" }, make("label", { for: "row" }, words.goRow), row),
    make("span", { class: "field" }, make("label", { for: "column" }, words.goColumn), column),
    make("button", { class: "plain" }, words.go),
    pages.length > 0 && make("span", { class: "field" }, make("label", { for: "page" }, words.goPage), page),
  );
  const ways = make("details", { class: "ways" }, make("summary", { class: "button plain" }, words.goTo), go);
  const shows = choice(
    "show",
    [["symbols", words.showSymbols], ["colours", words.showColours], ["both", words.showBoth], ["stitched", words.showStitched], .../** @type {[string, string][]} */ (hasPaper ? [["printed", words.showPrinted]] : [])],
    kept,
    (value) => {
      view.tiles.show = /** @type {import("./tiles.js").Show} */ (value);
      localStorage.setItem("show", value);
      view.moved();
    },
    words.show,
  );
  const button = (/** @type {string} */ text, /** @type {string} */ sign, /** @type {() => void} */ does) =>
    make("button", { type: "button", class: "plain sign", "aria-label": text, title: text, onclick: does }, sign);
  const squares = `${look.size.columns} × ${look.size.rows}`;
  // Chart, key and tools together, so that they have the screen together.
  const parts = make("main", { class: "piece-place" });
  parts.append(
    view.element,
    key,
    make(
      "div",
      { class: "edge tools" },
      said,
      shows,
      make("span", { class: "sizes" }, button(words.smaller, "−", () => view.zoom(-1)), button(words.larger, "+", () => view.zoom(1)),
        make("button", { type: "button", class: "plain", onclick: () => view.fit() }, words.whole)),
      ways,
      fullScreen(() => parts),
      opener,
      make("a", { class: "button first", href: `#/piece/${id}/print` }, words.print),
    ),
  );
  // What was built is laid out in a task of its own: fingers are answered in between.
  await new Promise((resolve) => setTimeout(resolve));
  if (!place.is(`#/piece/${id}`)) return view.leave();
  place.show(chart.figures.name, words.pieceWhere(squares, look.threads), parts);
  place.onLeave(() => view.leave());
  view.resized();
}
