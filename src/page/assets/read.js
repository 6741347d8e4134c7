// A chart that was printed elsewhere: its pages laid together, and what they do not tell asked symbol by symbol. What is
// said is kept at once, so that it can be gone on with on any day.

import { ask, change, changesYet, framed, get, isAbort, onNews, send, shown, Trouble, work } from "./ask.js";
import { make, pen, within } from "./make.js";
import { onPaper } from "./onpaper.js";
import { button, choice, choose, field, patch, question, quiet, workLine } from "./parts.js";
import { threadPicker } from "./threads.js";
import { symbolFont, Tiles } from "./tiles.js";
import { View } from "./view.js";
import { counted, words } from "./words.js";

/** @typedef {import("./main.js").Place} Place */

/**
 * @typedef {{ code: string | null, name: string | null, colour: string | null, strands: number | null, same: number | null, bare: boolean }} Said
 * @typedef {{ doubt: string, number?: number, key?: number }} Doubt
 * @typedef {{ number: number, stitches: number, code: string | null, name: string | null, needle: number | null,
 *   ground: string | null, printed: import("./onpaper.js").Shapes, doubts: Doubt[], said: Said | null, open: boolean }} Asked
 * @typedef {{ page: number, at: [number, number], size: [number, number] }} PagePlace
 * @typedef {{ name: string, piece: string | null, look: import("./chart.js").Look, symbols: Asked[], open: number,
 *   places: PagePlace[], card: boolean, warnings: any[], lines: any[] }} Told
 * @typedef {{ figures: Told, rest: Uint8Array<ArrayBuffer> }} Answer
 * @typedef {[Asked, Said | null]} Saying
 */

/** Files that were brought, for the place that reads them. @type {File[]} */
let waiting = [];

/** @param {File[]} files of one chart, in order */
export function bringPaper(files) {
  waiting = files;
}

/** How far reading is, and a button that ends it. @param {Place} place @param {string} title @param {AbortController} stopping */
function busy(place, title, stopping) {
  const said = make("p", { role: "status" }, words.readingPaper);
  const line = workLine(words.readingPaper);
  line.begin();
  place.show(words.paperTitle, title, make("main", "empty", said, line.element, make("a", { class: "button", href: "#/" }, words.leaveReading)));
  place.onLeave(() => stopping.abort());
  return line.heard;
}

/** Reads what was brought. @param {Place} place */
export async function readPaper(place) {
  const files = waiting;
  waiting = [];
  if (!files.length) return place.go("#/");
  const stopping = new AbortController();
  const heard = busy(place, files.map((file) => file.name).join(", "), stopping);
  try {
    const [first, ...rest] = files;
    const { paper } = await send("/api/papers", first);
    for (const file of rest) {
      await send(`/api/papers/${paper}`, file, stopping.signal);
    }
    const { reading } = await work(`/api/papers/${paper}/read`, {}, heard, stopping.signal);
    if (place.is("#/read")) location.replace(`#/read/${reading}`);
  } catch (error) {
    if (isAbort(error) || !place.is("#/read")) return;
    // Said where she is then.
    addEventListener("hashchange", () => place.trouble(error), { once: true });
    place.go("#/");
  }
}

/** @param {Place} place @param {string} id */
export async function read(place, id) {
  const here = `#/read/${id}`;
  const stopping = new AbortController();
  const heard = busy(place, words.readingPaper, stopping);
  try {
    await work(`/api/readings/${id}/open`, {}, heard, stopping.signal);
    const since = await changesYet();
    const [first, known, card] = await Promise.all([ask(`/api/readings/${id}`).then(framed), get("/api/card/threads"), get("/api/card"), symbolFont()]);
    if (!place.is(here)) return;
    const reading = new Reading(place, id, first, card.own ? known.shades : []);
    place.onLeave(onNews(() => reading.refresh(), since));
  } catch (error) {
    if (isAbort(error) || !place.is(here)) return;
    if (error instanceof Trouble && error.advice === "say-columns-and-rows") return askSize(place, id, error);
    throw error;
  }
}

/** Asks for the size of the whole chart. @param {Place} place @param {string} id @param {Trouble} why */
function askSize(place, id, why) {
  const [across, down] = [0, 1].map(() => make("input", { type: "number", min: 4, max: 2000, required: true }));
  const said = async () => {
    await change(`/api/readings/${id}/change`, { size: [Number(across.value), Number(down.value)] });
    await read(place, id);
  };
  place.show(
    words.paperTitle,
    words.sizeAsked,
    make(
      "main",
      "questions size-asked",
      make("p", {}, why.message),
      make(
        "form",
        { class: "questions", onsubmit: said },
        question(
          words.sizeOfPaper,
          quiet(words.sizeOfPaperHow),
          make("div", "row fields",
            field(words.sizeAcross, across),
            field(words.sizeDown, down),
            make("button", "first", words.joinPages)),
        ),
      ),
    ),
  );
}

class Reading {
  /** @param {Place} place @param {string} id @param {Answer} first @param {import("./threads.js").Thread[]} card threads of the person's own card */
  constructor(place, id, first, card) {
    this.place = place;
    this.id = id;
    this.card = card;
    this.told = first.figures;
    /** @type {Promise<void>} */
    this.renaming = Promise.resolve();
    this.view = new View(this.chart(first), (row, column, needle) => {
      const of = this.told.symbols.find((symbol) => symbol.needle === needle);
      this.here.textContent = words.square(row, column, of ? this.nameOf(of) : words.bare);
    });
    this.view.tiles.show = "printed";
    this.here = make("p", { class: "figures", role: "status" });
    this.laid = make("div", { class: "laid", role: "img" });
    this.pictures = make("div", { class: "pictures", "data-show": "pages" }, this.laid, this.view.element);
    this.showing = choice("showing", [["pages", words.showPages], ["chart", words.showChart]], "pages", (value) => this.show(value), words.show);
    this.list = make("div", "asked");
    this.notes = make("ul", "notes");
    this.said = make("p", { role: "status" });
    this.keep = button(this.told.piece ? words.keepAgain : words.keep, () => this.keepIt(), "first");
    this.observer = new ResizeObserver(() => this.layPages());
    const name = make("input", { value: this.told.name, maxLength: 120, required: true, "aria-label": words.name, onchange: () => (this.renaming = this.rename(name.value.trim())) });
    const { columns, rows } = this.told.look.size;
    place.show(
      this.told.name,
      words.paperWhere(columns, rows, this.told.places.length, this.told.symbols.length),
      make(
        "main",
        "begin",
        make("div", "look", make("div", "row over", this.showing), this.pictures, make("div", "outcome", this.here)),
        make("div", "questions", this.list, this.notes, this.told.lines.length > 0 && quiet(words.linesRead(this.told.lines.length)), question(words.name, name), quiet(words.paperMind)),
      ),
      make("footer", "edge", this.said, this.keep),
    );
    this.observer.observe(this.pictures);
    place.onLeave(() => {
      this.view.leave();
      this.observer.disconnect();
    });
    this.draw();
    this.view.resized();
  }

  /** @param {Answer} answer @returns {import("./chart.js").Chart} */
  chart({ figures, rest }) {
    return { look: figures.look, cells: rest, figures };
  }

  /** @param {string} value */
  show(value) {
    this.pictures.dataset.show = value;
    choose(this.showing, value);
    if (value === "pages") this.layPages();
    else this.view.resized();
  }

  /** The symbol whose needle another has, where it is said to be the same. @param {Asked} symbol */
  meant(symbol) {
    const same = symbol.said?.same;
    return (same && same !== symbol.number && this.told.symbols.find((other) => other.number === same)) || symbol;
  }

  /** @param {Asked} symbol */
  needleOf({ needle }) {
    return needle === null ? null : this.told.look.needles[needle];
  }

  /** What a symbol is known as. @param {Asked} symbol */
  nameOf(symbol) {
    const needle = this.needleOf(symbol);
    if (symbol.said?.bare || !needle) return words.leftBare;
    return needle.code === needle.name ? needle.code : `${needle.code} ${needle.name}`;
  }

  draw() {
    const { symbols, open } = this.told;
    const [asked, named] = [symbols.filter((symbol) => symbol.open), symbols.filter((symbol) => !symbol.open)];
    const before = /** @type {HTMLElement | null} */ (this.list.querySelector("details[data-number][open]"));
    const was = Number(before?.dataset.number ?? 0);
    const wasAsked = before?.className === "symbol-asked";
    this.list.replaceChildren(
      ...(open ? [make("h2", {}, words.symbolsAsked(open))] : []),
      ...(asked.filter(mayBeRight).length > 1 ? [button(words.allRight, () => this.allRight(asked.filter(mayBeRight)))] : []),
      ...asked.map((symbol) => this.entry(symbol)),
      ...(named.length ? [make("h2", {}, open ? words.symbolsNamed : words.symbolsAll), make("div", "named", ...named.map((symbol) => this.entry(symbol)))] : []),
    );
    const again = symbols.find((symbol) => symbol.number === was && (symbol.open || !wasAsked)) ?? asked[0];
    const opened = /** @type {HTMLDetailsElement | null} */ (again && this.list.querySelector(`details[data-number="${again.number}"]`));
    if (opened) opened.open = true;
    this.notes.replaceChildren(...notesOf(this.told).map((text) => make("li", {}, text)));
    this.notes.hidden = !this.notes.childElementCount;
    // While something is asked, that comes first.
    this.keep.className = open ? "" : "first";
    this.said.textContent = open ? words.goOnLater(open) : words.allSaid;
    this.layPages();
  }

  /** A symbol: as it is printed, what it is, and what is asked of it. @param {Asked} symbol */
  entry(symbol) {
    const needle = this.needleOf(symbol);
    const summary = make("summary", {}, onPaper(symbol.printed, symbol.ground));
    if (needle && !symbol.open) {
      summary.append(make("span", { class: "symbol", "aria-hidden": "true" }, needle.character), patch(needle.colour), make("strong", {}, needle.code), make("span", "thread-name", needle.name === needle.code ? "" : needle.name));
    } else summary.append(make("strong", {}, symbol.open ? words.symbolNumber(symbol.number) : words.leftBare));
    summary.append(make("span", "amount", counted.squares(symbol.stitches)));
    const details = make("details", { class: symbol.open ? "symbol-asked" : "symbol-named" }, summary);
    details.setAttribute("name", "symbols");
    details.dataset.number = String(symbol.number);
    details.ontoggle = () => {
      if (!details.open) return;
      if (details.childElementCount === 1) details.append(this.asking(symbol));
      // The first one, which is open by itself, leaves the pages in sight.
      this.bringForward(symbol, details.contains(document.activeElement));
    };
    return details;
  }

  /** Shows where a symbol stands. @param {Asked} symbol @param {boolean} looks whether the chart comes into sight */
  bringForward(symbol, looks) {
    const needle = this.meant(symbol).needle;
    this.view.tiles.front = needle;
    this.view.moved();
    if (looks && needle !== null) this.show("chart");
    this.here.textContent = words.standsIn(words.symbolNumber(symbol.number), symbol.stitches);
  }

  /** What is asked of a symbol. @param {Asked} symbol */
  asking(symbol) {
    const inside = make("div", "asking");
    const like = symbol.doubts.find((doubt) => doubt.doubt === "like");
    const other = like && this.told.symbols.find((one) => one.number === like.number);
    const large = (/** @type {Asked} */ of) => make("figure", {}, onPaper(of.printed, of.ground, words.symbolPicture(of.number)), make("figcaption", {}, words.symbolNumber(of.number), make("br"), counted.squares(of.stitches)));
    inside.append(other ? make("div", "large", large(symbol), large(other)) : make("div", "large", onPaper(symbol.printed, symbol.ground, words.symbolPicture(symbol.number))));
    // What is told and no question is left for later, where there is a question.
    const asks = (/** @type {Doubt} */ { doubt }) => !symbol.open || (doubt !== "no-colour" && doubt !== "not-on-card");
    for (const doubt of symbol.doubts.filter(asks)) {
      const text = words.doubts[doubt.doubt];
      if (text) inside.append(make("p", {}, text(doubt, symbol)));
    }
    const as = symbol.said ?? nothing();
    if (other) {
      inside.append(make("div", "row",
        button(words.oneThread, () => this.say(symbol, { ...nothing(), same: other.number }), "first"),
        button(words.twoThreads, () => this.say(symbol, as))));
    } else if (mayBeRight(symbol)) {
      inside.append(make("div", "row", button(words.rightAsIs, () => this.say(symbol, as), "first")));
    }
    const needle = this.needleOf(symbol);
    const isNamed = needle && !symbol.doubts.some((doubt) => doubt.doubt === "not-in-key");
    inside.append(threadPicker(
      this.known(),
      { code: isNamed ? needle.code : "", name: isNamed && needle.name !== needle.code ? needle.name : "", colour: needle?.colour ?? symbol.ground ?? "#c8b08a", strands: needle?.strands ?? 2 },
      (thread) => this.say(symbol, { ...nothing(), ...thread }),
    ));
    inside.append(make("div", "row",
      button(words.showWhere, () => this.bringForward(symbol, true)),
      !as.bare && button(words.nothingThere, () => this.say(symbol, { ...nothing(), bare: true })),
      symbol.said && button(words.unsay, () => this.say(symbol, null))));
    return inside;
  }

  /** Threads that can be picked: those of the card, and those that the chart has already. */
  known() {
    const all = new Map(this.card.map((thread) => [thread.code, thread]));
    for (const symbol of this.told.symbols) {
      const needle = this.needleOf(symbol);
      const isNamed = !symbol.doubts.some((doubt) => doubt.doubt === "not-in-key");
      if (needle && isNamed && !all.has(needle.code)) all.set(needle.code, { code: needle.code, name: needle.name, colour: needle.colour });
    }
    return [...all.values()];
  }

  /** Shows what the pages come to now. @param {Answer} answer */
  take(answer) {
    this.told = answer.figures;
    this.view.renew(this.chart(answer));
    this.draw();
  }

  /** What was said in another window is seen here too, unless a hand is at it. */
  async refresh() {
    if (this.list.contains(document.activeElement)) return;
    const answer = await framed(await ask(`/api/readings/${this.id}`));
    if (this.place.is(`#/read/${this.id}`) && JSON.stringify(answer.figures) !== JSON.stringify(this.told)) this.take(answer);
  }

  /** Says something of a symbol. @param {Asked} symbol @param {Said | null} said */
  say(symbol, said) {
    const { number } = symbol;
    const told = () => {
      const now = /** @type {Asked} */ (this.told.symbols.find((one) => one.number === number));
      return words.saidOf(number, this.nameOf(now), said?.same ?? null);
    };
    return this.answer([[symbol, said]], told, words.tookBack(number));
  }

  /** Says of several symbols that they are right as they are. @param {Asked[]} symbols */
  allRight(symbols) {
    const all = symbols.map((symbol) => /** @type {Saying} */ ([symbol, symbol.said ?? nothing()]));
    return this.answer(all, () => words.allAreRight(all.length), words.allAsBefore(all.length));
  }

  /** @param {Saying[]} all @param {() => string} told in words @param {string} [back] the same where it was taken back */
  async answer(all, told, back) {
    const before = all.map(([symbol]) => /** @type {Saying} */ ([symbol, symbol.said]));
    let answer = null;
    for (const [{ number }, said] of all) answer = await shown(`/api/readings/${this.id}/answer`, { number, said });
    if (!answer || !this.place.is(`#/read/${this.id}`)) return;
    this.take(answer);
    this.place.say(told(), back ? { text: words.undo, does: () => this.answer(before, () => back) } : undefined);
    // Keys go on at the next question, or at what was said.
    const next = this.told.open ? this.list.querySelector("details.symbol-asked[open] summary") : this.keep;
    /** @type {HTMLElement | null} */ (next)?.focus({ preventScroll: !this.told.open });
  }

  /** @param {string} name */
  async rename(name) {
    if (!name || name === this.told.name) return;
    await change(`/api/readings/${this.id}/change`, { name });
    this.told.name = name;
    const heading = document.querySelector("h1");
    if (heading) heading.textContent = name;
  }

  async keepIt() {
    this.keep.disabled = true;
    try {
      await this.renaming;
      const kept = await change(`/api/readings/${this.id}/keep`);
      this.place.kept(kept);
      this.place.go(`#/piece/${kept.piece}`);
    } finally {
      this.keep.disabled = false;
    }
  }

  /** The pages side by side as they join, each with its number; what a page repeats of one before it is hatched. */
  layPages() {
    const { places } = this.told;
    if (this.pictures.dataset.show !== "pages" || !places.length) return;
    const starts = [0, 1].map((axis) => [...new Set(places.map((one) => one.at[axis]))].sort((one, other) => one - other));
    const widest = [0, 1].map((axis) => starts[axis].map((start) => Math.max(...places.filter((one) => one.at[axis] === start).map((one) => one.size[axis]))));
    const gap = places.length > 30 ? 4 : 12;
    const room = [this.pictures.clientWidth, this.pictures.clientHeight].map((side, axis) => side - gap * (starts[axis].length - 1) - (axis ? 30 * starts[1].length : 0) - 8);
    const side = Math.max(0.25, Math.min(...[0, 1].map((axis) => room[axis] / widest[axis].reduce((sum, one) => sum + one, 0)), 12));
    const scale = devicePixelRatio || 1;
    // All threads alike, whichever stands out in the chart.
    const all = new Tiles(this.view.chart);
    all.show = "printed";
    const far = all.far();
    this.laid.setAttribute("aria-label", words.pagesLaid(places.length, starts[0].length, starts[1].length, places.some((_, at) => this.repeats(at).length > 0)));
    this.laid.style.gap = `${gap}px`;
    this.laid.replaceChildren(
      ...places.map((one, at) => {
        const [wide, high] = one.size.map((count) => Math.max(1, Math.round(count * side * scale)));
        const canvas = make("canvas", { width: wide, height: high });
        canvas.style.inlineSize = `${wide / scale}px`;
        const context = pen(canvas);
        context.imageSmoothingEnabled = side * scale < 1;
        context.drawImage(far, one.at[0], one.at[1], one.size[0], one.size[1], 0, 0, wide, high);
        hatch(context, this.repeats(at), [wide / one.size[0], high / one.size[1]], scale);
        const figure = make("figure", {}, canvas, make("figcaption", {}, words.pageNumber(one.page)));
        figure.style.gridColumn = String(starts[0].indexOf(one.at[0]) + 1);
        figure.style.gridRow = String(starts[1].indexOf(one.at[1]) + 1);
        return figure;
      }),
    );
  }

  /** What a page repeats of pages before it: column, row, columns and rows on the page. @param {number} at */
  repeats(at) {
    const { places } = this.told;
    const own = places[at];
    return places.slice(0, at).flatMap((other) => {
      const [from, to] = [[0, 1].map((axis) => Math.max(own.at[axis], other.at[axis])), [0, 1].map((axis) => Math.min(own.at[axis] + own.size[axis], other.at[axis] + other.size[axis]))];
      return from[0] < to[0] && from[1] < to[1] ? [[from[0] - own.at[0], from[1] - own.at[1], to[0] - from[0], to[1] - from[1]]] : [];
    });
  }
}

/** Whether all that is asked of a symbol is whether it is right. @param {Asked} symbol */
function mayBeRight(symbol) {
  return symbol.open && !symbol.doubts.some(({ doubt }) => doubt === "not-in-key" || doubt === "like");
}

/** @returns {Said} */
function nothing() {
  return { code: null, name: null, colour: null, strands: null, same: null, bare: false };
}

/** Lines across what is shown twice. @param {CanvasRenderingContext2D} context @param {number[][]} areas @param {number[]} side @param {number} scale */
function hatch(context, areas, side, scale) {
  for (const [column, row, columns, rows] of areas) {
    const [x, y, wide, high] = [column * side[0], row * side[1], columns * side[0], rows * side[1]];
    within(context, [x, y, wide, high], () => {
      context.fillStyle = "rgb(255 255 255 / 55%)";
      context.fillRect(x, y, wide, high);
      context.strokeStyle = "#6a3f00";
      context.lineWidth = 1.5 * scale;
      context.beginPath();
      for (let at = -high; at < wide; at += 6 * scale) {
        context.moveTo(x + at, y + high);
        context.lineTo(x + at + high, y);
      }
      context.stroke();
    });
  }
}

/** What is worth knowing and is no question. @param {Told} told */
function notesOf(told) {
  const said = [];
  const of = (/** @type {string} */ kind) => told.symbols.filter((symbol) => symbol.doubts.some((doubt) => doubt.doubt === kind)).length;
  if (of("not-on-card")) said.push(words.notOnCard(of("not-on-card")));
  if (of("no-colour")) said.push(words.noColour(of("no-colour"), told.card));
  const { columns, rows } = told.look.size;
  const shownBy = new Uint8Array(columns * rows);
  for (const { at: [column, row], size: [across, down] } of told.places) {
    for (let y = row; y < row + down; y += 1) shownBy.fill(1, y * columns + column, y * columns + column + across);
  }
  const missing = shownBy.reduce((sum, one) => sum - one, columns * rows);
  if (missing) said.push(words.onNoPage(missing));
  for (const warning of told.warnings) {
    const text = warning.kind === "reading" && words.ofPaper[warning.about];
    if (text) said.push(text(warning.count));
  }
  return said;
}

