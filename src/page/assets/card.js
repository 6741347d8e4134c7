// The shade card as a table: what threads there are, to be looked at, mended and kept.

import { change, get, send } from "./ask.js";
import { make } from "./make.js";
import { button, cardPicker, quiet } from "./parts.js";
import { counted, words } from "./words.js";

/** Columns of a card that can be changed here; the others stay as they are. */
const SHOWN = /** @type {const} */ (["code", "name", "colour", "owned"]);

const COLUMNS = ["code", "name", "colour", "price", "length_m", "strands", "owned", "kind"];

/** How many rows are drawn at once; the rest as it is scrolled to. */
const AT_ONCE = 60;

/** @param {import("./main.js").Place} place */
export async function card(place) {
  const [told, { own }] = await Promise.all([get("/api/card/threads"), get("/api/card")]);
  if (!place.is("#/card")) return;
  /** @type {Record<string, any>[]} */
  let rows = told.shades.map((/** @type {any} */ shade) => ({ ...shade }));
  let drawn = 0;
  const body = make("tbody");
  const said = make("p", { role: "status" });
  const count = () => (said.textContent = counted.threads(rows.length));

  /** @param {Record<string, any>} row */
  const line = (row) => {
    const element = make("tr");
    for (const column of SHOWN) {
      const input = make("input", { type: column === "colour" && "color", value: row[column] ?? "", maxLength: 200, placeholder: column === "owned" ? words.skeinsOwned : "", "aria-label": `${words.cardColumns[column]}: ${row.code || words.newThread}`, oninput: () => (row[column] = input.value) });
      if (column === "owned") input.inputMode = "decimal";
      element.append(make("td", { class: column }, input));
    }
    const out = button("×", () => {
      const at = rows.indexOf(row);
      rows.splice(at, 1);
      drawn -= 1;
      element.remove();
      count();
      place.say(words.tookOut(row.code), { text: words.undo, does: () => {
        rows.splice(at, 0, row);
        drawn += 1;
        body.insertBefore(element, body.children[at] ?? null);
        count();
        place.say(words.threadBack(row.code));
      } });
    }, "sign", { "aria-label": words.takeOut(row.code || words.newThread) });
    element.append(make("td", "out", out));
    return element;
  };
  const more = () => {
    body.append(...rows.slice(drawn, drawn + AT_ONCE).map(line));
    drawn = Math.min(rows.length, drawn + AT_ONCE);
  };
  const end = make("div", "end");
  const watcher = new IntersectionObserver((seen) => {
    if (seen.some((one) => one.isIntersecting) && drawn < rows.length) more();
  }, { rootMargin: "600px" });

  const add = () => {
    while (drawn < rows.length) more();
    const row = { code: "", name: "", colour: "#c8b08a" };
    rows.push(row);
    drawn += 1;
    const element = line(row);
    body.append(element);
    count();
    /** @type {HTMLInputElement} */ (element.querySelector("input")).focus();
  };
  const keep = async () => {
    const text = tableOf(rows);
    const name = own ? told.card : words.ownCard;
    const kept = await send("/api/card", new File([text], `${name}.csv`, { type: "text/csv" }));
    place.say(words.cardKept(kept.threads));
    history.back();
  };
  const use = (/** @type {Promise<any>} */ asked) => asked.then(() => card(place));
  const list = (/** @type {any[]} */ now) => {
    [rows, drawn] = [now, 0];
    body.replaceChildren();
    more();
    count();
  };
  const empty = button(words.cardEmpty, () => {
    const was = rows;
    list([]);
    add();
    place.say(words.cardEmptied, { text: words.undo, does: () => list(was) });
  });
  const bring = cardPicker((file) => use(send("/api/card", file)));
  const back = own && button(words.cardBack, () => use(change("/api/card", undefined, "DELETE")));
  place.show(
    words.cardTitle,
    own ? words.cardOwn(told.card, rows.length) : words.cardDemoShort,
    make(
      "main",
      "card",
      quiet(words.cardHow),
      make("div", "row", empty, bring, back),
      make("table", {}, make("thead", {}, make("tr", {}, ...SHOWN.map((column) => make("th", { scope: "col" }, words.cardColumns[column])), make("th", {}))), body),
      end,
    ),
    make("footer", "edge", said, button(words.addThread, add), button(words.keepCard, keep, "first")),
  );
  more();
  count();
  watcher.observe(end);
  place.onLeave(() => watcher.disconnect());
  place.onDrop((file) => (/\.csv$/i.test(file.name) ? use(send("/api/card", file)) : null));
}

/** A table as CSV (RFC 4180), its empty columns left out. @param {Record<string, any>[]} rows */
function tableOf(rows) {
  const used = COLUMNS.filter((column) => COLUMNS.indexOf(column) < 3 || rows.some((row) => (row[column] ?? "") !== ""));
  const field = (/** @type {any} */ value) => {
    const text = String(value ?? "");
    return /[",;\t\r\n]|^\s|\s$/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
  };
  return [used.join(","), ...rows.map((row) => used.map((column) => field(row[column])).join(","))].join("\r\n") + "\r\n";
}
