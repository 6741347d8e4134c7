// Begin: a photo, and six questions in the order in which a stitcher asks them. What is shown stitched is the chart that
// would be kept.

import { change, get, isAbort, send, Trouble, work } from "./ask.js";
import { Beside, stitched } from "./beside.js";
import { chartOf } from "./chart.js";
import { Choices } from "./choices.js";
import { Frame } from "./frame.js";
import { atHand } from "./hand.js";
import { hoop, make } from "./make.js";
import { button, cardPicker, chartPicker, choice, choose, field, filePicker, fullScreen, patch, question, questions, workLine } from "./parts.js";
import { symbolFont } from "./tiles.js";
import { lengths, MM, setUnit, unit } from "./units.js";
import { words } from "./words.js";

/** @typedef {import("./main.js").Place} Place */

/** Counts that are sold everywhere (common practice, no source). */
const COUNTS = ["11", "14", "16", "18", "20", "22", "25", "28/2"];

/** How long hands rest before another chart is begun while one is being made, in milliseconds. */
const REST = 150;

/** In metres: in the hand, on a wall (what `make` takes unasked), across a room. */
const FAR = [0.5, 1.5, 4];

/** A photo that was dropped elsewhere, for Begin to take. @type {File | null} */
let waiting = null;

/** @param {File} file */
export function bring(file) {
  waiting = file;
}

/** What is chosen; the last photo with its choices stays while the page is open. */
const chosen = {
  /** @type {{ file: File, photo: string, name: string, image: HTMLImageElement, url: string, aside: import("./choices.js").Choice[] } | null} */
  photo: null,
  title: "",
  part: [0, 0, 1, 1],
  colour: "#f4ecd8",
  count: "14",
  columns: 140,
  threads: 24,
  confetti: "few",
  far: FAR[1],
};

/** What `make` would be asked for. */
function settings() {
  const crop = chosen.part.map((share) => `${Math.round(share * 100000) / 1000}%`).join(",");
  const isAll = chosen.part.join() === "0,0,1,1";
  return {
    title: chosen.title.trim() || null,
    size: { columns: chosen.columns, rows: null, width: null, height: null },
    crop: isAll ? null : crop,
    cloth: { count: chosen.count, colour: chosen.colour },
    colours: { exactly: chosen.threads },
    confetti: chosen.confetti,
    seen_from: chosen.far * 1000,
  };
}

/** @param {Place} place */
export function begin(place) {
  if (waiting) {
    const file = waiting;
    waiting = null;
    take(place, file);
    return;
  }
  if (!chosen.photo) return ask(place);
  asking(place, chosen.photo);
}

/** Asks for a photo. @param {Place} place */
function ask(place) {
  place.show(
    words.beginTitle,
    words.beginTitle,
    make(
      "main",
      { class: "empty" },
      hoop(),
      filePicker(words.bringPhoto, "image/jpeg,image/png", ([file]) => take(place, file), "first"),
      make("p", {}, words.bringPhotoHow),
      chartPicker(place),
      make("p", {}, words.takeInHow),
      make("p", { class: "quiet" }, words.bringPhotoMind),
    ),
  );
}

/** Takes a photo in. @param {Place} place @param {File} file */
async function take(place, file) {
  place.show(words.beginTitle, words.beginTitle, make("main", { class: "empty" }, make("p", {}, words.readingPhoto)));
  try {
    const told = await send("/api/photos", file);
    const url = URL.createObjectURL(file);
    const image = make("img", { src: url, alt: "", draggable: false });
    await image.decode();
    if (chosen.photo) URL.revokeObjectURL(chosen.photo.url);
    chosen.photo = { file, photo: told.photo, name: told.name, image, url, aside: [] };
    chosen.title = told.name.replaceAll(/[-_]+/g, " ").replace(/^./, (/** @type {string} */ letter) => letter.toUpperCase());
    chosen.part = [0, 0, 1, 1];
    // Where the photo has fewer dots, each is a square.
    chosen.columns = Math.max(20, Math.min(140, told.width));
    for (const warning of told.warnings) {
      const said = words.ofPhoto[warning.warning?.kind ?? warning.kind];
      if (said) place.say(said);
    }
    if (place.is("#/begin")) asking(place, chosen.photo);
  } catch (error) {
    place.trouble(error);
    if (place.is("#/begin")) ask(place);
  }
}

/** @param {Place} place @param {NonNullable<typeof chosen.photo>} photo */
function asking(place, photo) {
  const look = make("div", { class: "look" });
  const beside = new Beside();
  const frame = new Frame(photo.image, (part) => {
    chosen.part = part;
    beside.setPhoto(photo.image, part, shape());
    sizes();
    soon();
    hand.soon();
  });
  frame.part = [...chosen.part];
  frame.show();
  const shape = () => (photo.image.naturalWidth * chosen.part[2]) / (photo.image.naturalHeight * chosen.part[3]);
  beside.setPhoto(photo.image, chosen.part, shape());

  const choices = new Choices(() => {
    photo.aside = choices.list;
    thirdShow.hidden = !choices.some;
    if (!choices.some && pictures.dataset.show === "choices") show("beside");
  });
  const partHelp = make("p", { class: "quiet", id: "part-help" }, words.partHelp);
  const partShow = button(words.partShow, () => show("part"), undefined, { hidden: true });
  const pictures = make("div", { class: "pictures", "data-show": "part" }, frame.element, beside.element, choices.element);
  const showing = choice("showing", [["part", words.showPart], ["beside", words.showBeside], ["choices", words.showChoices]], "part", (value) => show(value), words.show);
  const thirdShow = /** @type {HTMLElement} */ (showing.lastElementChild);
  thirdShow.hidden = true;
  const show = (/** @type {string} */ value) => {
    pictures.dataset.show = value;
    choose(showing, value);
    view.hidden = value !== "beside";
    // What is done to the frame is said where the frame is seen.
    partHelp.hidden = value !== "part";
    partShow.hidden = value === "part";
    frame.fit();
    beside.draw();
  };
  // As large as there is room, or as it looks from where it will be looked at.
  let isFar = false;
  const view = make("div", { class: "far" }, choice("view", [["", words.seenNear], ["far", ""]], "", (value) => {
    isFar = value === "far";
    farther();
  }, words.show));
  view.hidden = true;
  const far = choice("far", FAR.map((metres) => [String(metres), ""]), String(chosen.far), (value) => {
    chosen.far = Number(value);
    farther();
    soon();
  }, words.far);
  const farther = () => {
    far.querySelectorAll("span").forEach((span, at) => (span.textContent = `${words.farWhere[at]}, ${farInWords(FAR[at])}`));
    /** @type {HTMLElement} */ (view.querySelector("label:last-child span")).textContent = words.seenFrom(farInWords(chosen.far));
    beside.seeFrom(isFar ? chosen.far : null);
  };
  const aside = button(words.setAside, () => setAside(), undefined, { hidden: true });

  const said = make("p", { class: "figures", role: "status" });
  const notes = make("ul", { class: "notes" });
  const line = workLine(words.making);
  const keep = button(words.keep, () => keepIt(), "first");

  // Questions.
  const name = make("input", { type: "text", value: chosen.title, maxLength: 120, "aria-label": words.name, oninput: () => (chosen.title = name.value) });
  const sizeSaid = make("p", { class: "quiet" });
  const across = make("input", { type: "number", min: "20", max: "2000", step: "1", id: "across", oninput: () => sized(Math.round(Number(across.value)), across) });
  const width = make("input", { type: "number", min: "1", step: "0.5", oninput: () => sized(Math.round((Number(width.value) * MM[unit()] * perInch()) / 25.4), width) });
  const widthName = make("span");
  const perInch = () => {
    const [threads, over = 1] = chosen.count.split("/").map(Number);
    return threads / over;
  };
  const millimetres = (/** @type {number} */ squares) => (squares / perInch()) * 25.4;
  const rows = () => Math.max(4, Math.round(chosen.columns / shape()));
  const sizes = (/** @type {Element | null} */ from = null) => {
    if (from !== across) across.value = String(chosen.columns);
    if (from !== width) width.value = String(Math.round((millimetres(chosen.columns) / MM[unit()]) * 10) / 10);
    widthName.textContent = words.sizeWidth(unit() === "cm" ? words.centimetres : words.inches);
    sizeSaid.textContent = words.sizeIs(lengths(millimetres(chosen.columns), millimetres(rows())), chosen.columns, rows());
  };
  const sized = (/** @type {number} */ squares, /** @type {Element | null} */ from = null) => {
    if (!(squares >= 20 && squares <= 2000)) return;
    chosen.columns = squares;
    sizes(from);
    soon();
  };
  const threads = ["range", "number"].map((type) => make("input", {
    type, min: "2", max: "80", value: String(chosen.threads), id: type === "range" ? "threads" : "", "aria-label": words.colours,
    oninput: (/** @type {any} */ { target }) => {
      if (!(target.value >= 2 && target.value <= 80)) return;
      chosen.threads = Math.round(target.value);
      for (const other of threads) if (other !== target) other.value = target.value;
      soon();
    },
  }));
  // The chart that is there on another cloth stands until the one that is made for it has come.
  const onCloth = (/** @type {string} */ colour) => {
    chosen.colour = colour;
    soon();
    if (shown) beside.setChart(shown.chart, shown.at.part, stitched(shown.chart, colour));
  };
  const own = make("input", { type: "color", value: chosen.colour, id: "own-cloth", oninput: () => {
    choose(cloths, own.value);
    onCloth(own.value);
  } });
  const cloths = choice("cloth", Object.entries(words.clothNames).map(([colour, text]) => [colour, patch(colour), text]), chosen.colour, (colour) => {
    own.value = colour;
    onCloth(colour);
  }, words.clothColour);
  cloths.append(make("label", { class: "own", for: "own-cloth" }, own, make("span", {}, words.clothOwn)));

  const counts = choice("count", COUNTS.map((count) => [count, words.countSaid(count)]), chosen.count, (count) => {
    chosen.count = count;
    sizes();
    soon();
  }, words.clothCount);
  const hand = atHand(() => photo.photo, () => ({ ...settings(), size: undefined }), (count, columns) => {
    chosen.count = count;
    choose(counts, count);
    sized(columns);
  });

  const cardSaid = make("p");
  const cardBack = button(words.cardBack, () => useCard(change("/api/card", undefined, "DELETE")));
  const card = question(
    words.threads,
    cardSaid,
    make("div", { class: "row" }, cardPicker((file) => useCard(send("/api/card", file))), make("a", { class: "button", href: "#/card" }, words.cardLook), cardBack),
  );
  const useCard = async (/** @type {Promise<any>} */ asked, redo = true) => {
    try {
      const told = await asked;
      cardSaid.textContent = told.own ? words.cardOwn(told.name, told.threads) : words.cardDemo(told.threads);
      cardBack.hidden = !told.own;
      if (redo) soon();
    } catch (error) {
      place.trouble(error);
    }
  };
  useCard(get("/api/card"), false);

  const shapes = /** @type {[string, number | null][]} */ ([[words.partAll, null], [words.partSquare, 1], [words.partUpright, 3 / 4], [words.partWide, 4 / 3]]);
  const form = questions(
    question(
      words.part,
      make("div", { class: "row" }, ...shapes.map(([text, of]) => button(text, () => {
        show("part");
        frame.keepShape(of);
      })), partShow),
      partHelp,
    ),
    question(words.cloth, cloths, make("p", {}, words.clothCount), counts, hand.element),
    question(
      words.size,
      make("div", { class: "row fields" },
        field(words.sizeAcross, across),
        field(widthName, width),
        choice("unit", [["cm", words.centimetres], ["in", words.inches]], unit(), (value) => {
          setUnit(/** @type {import("./units.js").Unit} */ (value));
          sizes();
          farther();
          hand.soon();
        }, words.units)),
      sizeSaid,
    ),
    question(words.far, far, make("p", { class: "quiet" }, words.farHelp)),
    card,
    question(words.colours, make("div", { class: "row slide" }, ...threads)),
    question(words.quiet, choice("quiet", [["keep", words.quietKeep], ["few", words.quietFew], ["none", words.quietNone]], chosen.confetti, (value) => {
      chosen.confetti = value;
      soon();
    }, words.quiet), make("p", { class: "quiet" }, words.quietHelp)),
    question(words.name, name),
  );

  // What is being made.
  /** @type {{ trial: string, settings: string } | null} */
  let made = null;
  /** @type {AbortController | null} */
  let stopping = null;
  let timer = 0;
  let squares = "";
  /** @type {{ settings: any, at: typeof chosen, chart: import("./chart.js").Chart, picture: HTMLCanvasElement, says: string } | null} what is seen */
  let shown = null;
  // A change is answered at once; while hands go on, when they rest.
  const soon = () => {
    const isBusy = stopping !== null;
    look.setAttribute("aria-busy", "true");
    clearTimeout(timer);
    timer = setTimeout(() => tryOut().catch(place.trouble), isBusy ? REST : 0);
  };

  /** Makes the chart of what is chosen; what was being made before is stopped. @param {boolean} shows whether the picture follows */
  const tryOut = async (shows = true) => {
    clearTimeout(timer);
    timer = 0;
    stopping?.abort();
    look.setAttribute("aria-busy", "true");
    const mine = (stopping = new AbortController());
    const asked = settings();
    const part = [...chosen.part];
    const key = [part, chosen.columns].join();
    if (shows && key !== squares) {
      // Another part or size: its squares stand there at once.
      squares = key;
      beside.setPhoto(photo.image, part, shape());
      beside.setSquares(chosen.columns, rows());
    }
    // What takes longer than a second says so.
    const late = setTimeout(() => {
      said.textContent = words.making;
      line.begin();
    }, 1000);
    try {
      const done = await work(`/api/photos/${photo.photo}/try`, asked, (event, data) => {
        if (line.element.firstChild) said.textContent = line.heard(event, data);
      }, mine.signal);
      made = { trial: done.trial, settings: JSON.stringify(asked) };
      if (!shows) return made;
      const chart = await chartOf(`/api/trials/${done.trial}`, mine.signal);
      await symbolFont();
      beside.setPhoto(photo.image, part, chart.look.size.columns / chart.look.size.rows);
      const picture = stitched(chart);
      beside.setChart(chart, part, picture);
      said.textContent = words.made(chart.look.stitches, chart.look.threads, chart.figures.skeins);
      notes.replaceChildren(...notesOf(chart.figures).map((text) => make("li", {}, text)));
      shown = { settings: asked, at: { ...chosen, part }, chart, picture, says: said.textContent ?? "" };
      aside.hidden = false;
      return made;
    } catch (error) {
      if (isAbort(error)) return null;
      if (error instanceof Trouble && error.kind === "stopped") return null;
      if (error instanceof Trouble && error.kind === "missing") {
        // Brede was started again, or has taken in many photos since.
        photo.photo = (await send("/api/photos", photo.file)).photo;
        return tryOut(shows);
      }
      throw error;
    } finally {
      clearTimeout(late);
      if (stopping === mine) {
        stopping = null;
        line.element.replaceChildren();
        if (!timer) look.removeAttribute("aria-busy");
      }
    }
  };

  /** Sets aside what is shown, to stand beside another choice. */
  const setAside = () => {
    if (!shown) return;
    const { at, picture, says } = shown;
    const cloth = words.clothNames[at.colour] ?? at.colour;
    choices.add({
      key: JSON.stringify(shown.settings),
      title: words.choice(at.threads, at.columns, cloth, at.count),
      says,
      picture,
      back: () => {
        const { photo: held, title } = chosen;
        Object.assign(chosen, at, { photo: held, title, part: [...at.part] });
        asking(place, photo);
      },
    });
    place.say(words.didSetAside);
  };

  const keepIt = async () => {
    keep.disabled = true;
    keep.textContent = words.keeping;
    try {
      // Its name, or a last change, may not have been made yet.
      let ready = made?.settings === JSON.stringify(settings()) ? made : await tryOut(false);
      // A change that was still on its way stopped that: what is kept is what is chosen now.
      for (let again = 0; !ready && again < 5; again += 1) ready = await tryOut(false);
      if (!ready) return;
      const kept = await change(`/api/trials/${ready.trial}/keep`);
      chosen.photo = null;
      place.say(words.kept[kept.came](kept.name));
      place.go(`#/piece/${kept.piece}`);
    } catch (error) {
      place.trouble(error);
    } finally {
      keep.disabled = false;
      keep.textContent = words.keep;
    }
  };

  look.append(
    make("div", { class: "row over" }, showing, fullScreen(() => look)),
    pictures,
    make("div", { class: "outcome" }, said, line.element, make("div", { class: "row under" }, view, aside), notes),
  );
  choices.list = photo.aside;
  choices.show();
  place.show(
    words.beginTitle,
    words.beginTitle,
    make("main", { class: "begin" }, look, form),
    make("footer", { class: "edge" }, keep),
  );
  place.onLeave(() => {
    clearTimeout(timer);
    stopping?.abort();
    frame.leave();
    beside.leave();
  });
  place.onDrop((file) => (/\.csv$/i.test(file.name) ? useCard(send("/api/card", file)) : null));
  sizes();
  farther();
  frame.fit();
  tryOut().then(() => {
    // The first chart of a photo shows itself; whoever looks at the frame again is left there.
    if (pictures.dataset.show === "part" && photo !== showed) show("beside");
    showed = photo;
  }, place.trouble);
}

/** The photo whose first chart was shown. @type {unknown} */
let showed = null;

/** A distance as people say it. @param {number} metres */
function farInWords(metres) {
  return unit() === "cm" ? words.metres(metres) : words.feet(Math.round(metres / 0.3048));
}

/** What is worth knowing of a chart. @param {any} figures */
function notesOf(figures) {
  const said = [];
  let shown = 0;
  for (const warning of figures.warnings) {
    if (warning.kind === "spare-threads") said.push(words.fewerThreads(warning.spare, Math.max(2, warning.threads - warning.spare)));
    if (warning.kind === "shift" && shown++ < 1) said.push(words.shift(`${warning.shift.code} ${warning.shift.name}`));
    if (warning.kind === "more-shifts") said.push(words.shiftMore(warning.threads));
  }
  return said;
}

