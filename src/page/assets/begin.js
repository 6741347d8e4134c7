// Begin: a photo, and six questions in the order in which a stitcher asks them. What is shown stitched is the chart that
// would be kept.

import { ask, change, get, isAbort, send, Trouble, work } from "./ask.js";
import { Beside, stitched } from "./beside.js";
import { chartOf } from "./chart.js";
import { Choices } from "./choices.js";
import { Frame } from "./frame.js";
import { atHand } from "./hand.js";
import { hoop, make } from "./make.js";
import { button, cardPicker, chartPicker, choice, choose, field, filePicker, fullScreen, patch, question, questions, quiet, workLine } from "./parts.js";
import { symbolFont } from "./tiles.js";
import { lengths, MM, unit } from "./units.js";
import { words } from "./words.js";

/** @typedef {import("./main.js").Place} Place */

/** Counts that are sold everywhere (common practice, no source). */
const COUNTS = ["11", "14", "16", "18", "20", "22", "25", "28/2"];

/** How long hands rest before another chart is begun while one is being made, in milliseconds. */
const REST = 150;

/** And before a number counts that is being written: the 4 of 40 asks for no chart. */
const WRITTEN = 500;

/** In metres: in the hand, on a wall (what `make` takes unasked), across a room. */
const FAR = [0.5, 1.5, 4];

/** A photo that was brought elsewhere, for Begin to take. @type {{ file: File, by: any } | null} */
let waiting = null;

/** @param {File} file @param {any} [by] settings of another piece, to begin by */
export function bring(file, by) {
  waiting = { file, by };
}

/** Begins another piece from the picture of one. @param {Place} place @param {string} path where brede is asked of the piece @param {{ photo: string, settings: any }} made */
export async function beginAgain(place, path, { photo, settings }) {
  const picture = await (await ask(`${path}/photo`)).blob();
  bring(new File([picture], photo), settings);
  place.go("#/begin");
}

/** What is chosen; the last photo with its choices stays while the page is open. */
const chosen = {
  /** @type {{ file: File, photo: string, size: number[], image: HTMLImageElement, aside: import("./choices.js").Choice[] } | null} */
  photo: null,
  title: "",
  part: [0, 0, 1, 1],
  /** @type {number | null} width by height, where it is kept */
  shape: null,
  colour: "#f4ecd8",
  count: "14",
  columns: 140,
  threads: 24,
  confetti: "few",
  far: FAR[1],
  /** What is not asked here, as another piece was made by it. */
  others: {},
};

/** @typedef {{ settings: any, at: typeof chosen, chart: import("./chart.js").Chart, picture: HTMLCanvasElement, says: string }} Shown */

/** @param {number[]} part */
const isAll = (part) => part.join() === "0,0,1,1";

/** What `make` would be asked for. */
function settings() {
  // In dots: shares that are rounded could lead past the edge.
  const [left, top, right, bottom] = chosen.part.map((share, at) => Math.round((share + (at > 1 ? chosen.part[at - 2] : 0)) * (chosen.photo?.size[at % 2] ?? 1)));
  return {
    ...chosen.others,
    title: chosen.title.trim() || null,
    size: { columns: chosen.columns },
    crop: isAll(chosen.part) ? null : [left, top, right - left, bottom - top].join(),
    cloth: { count: chosen.count, colour: chosen.colour },
    colours: { exactly: chosen.threads },
    confetti: chosen.confetti,
    seen_from: chosen.far * 1000,
  };
}

/** @param {Place} place */
export function begin(place) {
  if (waiting) {
    const { file, by } = waiting;
    waiting = null;
    take(place, file, by);
    return;
  }
  if (!chosen.photo) return askPhoto(place);
  asking(place, chosen.photo);
}

/** Asks for a photo. @param {Place} place */
function askPhoto(place) {
  place.show(
    words.beginTitle,
    "",
    make(
      "main",
      "empty",
      hoop(),
      filePicker(words.bringPhoto, "image/jpeg,image/png", ([file]) => take(place, file), "first"),
      make("p", {}, words.bringPhotoHow),
      chartPicker(place),
      make("p", {}, words.takeInHow),
      quiet(words.bringPhotoMind),
    ),
  );
}

/** Takes a photo in. @param {Place} place @param {File} file @param {any} [by] settings to begin by */
async function take(place, file, by) {
  place.show(words.beginTitle, "", make("main", "empty", make("p", {}, words.readingPhoto)));
  try {
    const told = await send("/api/photos", file);
    const image = make("img", { src: URL.createObjectURL(file), alt: "", draggable: false });
    await image.decode();
    if (chosen.photo) URL.revokeObjectURL(chosen.photo.image.src);
    chosen.photo = { file, photo: told.photo, size: [told.width, told.height], image, aside: [] };
    chosen.title = told.name.replaceAll(/[-_]+/g, " ").replace(/^./, (/** @type {string} */ letter) => letter.toUpperCase());
    // Where the photo has fewer dots, each is a square.
    Object.assign(chosen, { part: [0, 0, 1, 1], shape: null, columns: Math.max(20, Math.min(140, told.width)), others: {} });
    if (by) {
      const { title, size, crop, cloth, colours, confetti, seen_from, ...others } = by;
      const share = (/** @type {string} */ measure, /** @type {number} */ at) => parseFloat(measure) / (measure.endsWith("%") ? 100 : at % 2 ? told.height : told.width);
      const part = crop ? crop.split(",").map(share) : chosen.part;
      Object.assign(chosen, { title, part, columns: size.columns, count: cloth.count, colour: cloth.colour, threads: Math.min(80, colours.exactly), confetti, far: seen_from / 1000, others });
      place.say(words.begunAgain);
    }
    for (const warning of told.warnings) {
      const said = words.ofPhoto[warning.warning?.kind ?? warning.kind];
      if (said) place.say(said);
    }
    if (place.is("#/begin")) asking(place, chosen.photo);
  } catch (error) {
    place.trouble(error);
    if (place.is("#/begin")) askPhoto(place);
  }
}

/** @param {Place} place @param {NonNullable<typeof chosen.photo>} photo */
function asking(place, photo) {
  const look = make("div", "look");
  const beside = new Beside();
  const frame = new Frame(photo.image, (part) => {
    Object.assign(chosen, { part, shape: frame.shape });
    choose(parts, partChosen());
    sizes();
    soon();
    hand.soon();
  });
  const partChosen = () => (frame.shape ? String(frame.shape) : isAll(frame.part) ? "all" : "hand");
  const parts = choice("part", [["all", words.partAll], ["1", words.partSquare], [String(3 / 4), words.partUpright], [String(4 / 3), words.partWide], ["hand", words.partShow]], "", (value) => {
    if (value === "hand") frame.shape = null;
    else frame.keepShape(Number(value) || null);
  }, words.part);
  // Whichever is pressed, also once more, the frame is seen.
  parts.onclick = () => show("part");
  const shape = () => (photo.image.naturalWidth * chosen.part[2]) / (photo.image.naturalHeight * chosen.part[3]);

  const choices = new Choices(() => {
    photo.aside = choices.list;
    showing.lastElementChild?.toggleAttribute("hidden", !choices.some);
    if (!choices.some && pictures.dataset.show === "choices") show("beside");
  }, ({ at }) => {
    Object.assign(chosen, at, { photo, title: chosen.title, part: [...at.part] });
    fill();
    soon();
  });
  const partHelp = make("p", { class: "quiet", id: "part-help" }, words.partHelp);
  const pictures = make("div", "pictures", frame.element, beside.element, choices.element);
  const showing = choice("showing", [["part", words.showPart], ["beside", words.showBeside], ["choices", words.showChoices]], "", (value) => show(value), words.show);
  const show = (/** @type {string} */ value) => {
    pictures.dataset.show = value;
    showed = { photo, as: value };
    choose(showing, value);
    frame.fit();
    beside.draw();
  };
  // As large as there is room, or as it looks from where it will be looked at.
  let isFar = false;
  const seen = new Text();
  const view = choice("view", [["", words.seenNear], ["far", seen]], "", (value) => {
    isFar = value === "far";
    farther();
  }, words.onScreen);
  view.classList.add("far");
  const far = choice("far", FAR.map((metres) => [String(metres), ""]), "", (value) => {
    chosen.far = Number(value);
    farther();
    soon();
  }, words.far);
  const farther = () => {
    far.querySelectorAll("span").forEach((span, at) => (span.textContent = `${words.farWhere[at]}, ${farInWords(FAR[at])}`));
    seen.data = words.seenFrom(farInWords(chosen.far));
    beside.seeFrom(isFar ? chosen.far : null);
  };
  // What is shown is held, to stand beside another choice.
  const aside = button(words.setAside, () => {
    if (!shown) return;
    choices.add(choiceOf(shown));
    place.say(words.didSetAside);
  }, undefined, { hidden: true });

  const said = make("p", { class: "figures", role: "status" });
  const notes = make("ul", "notes");
  const line = workLine(words.making);
  const keep = button(words.keep, () => keepIt(), "first");

  const name = make("input", { value: chosen.title, maxLength: 120, "aria-label": words.name, oninput: () => (chosen.title = name.value) });
  const sizeSaid = quiet();
  const across = make("input", { type: "number", min: 20, max: 2000, step: 1, id: "across", oninput: () => sized(Math.round(Number(across.value)), across) });
  const width = make("input", { type: "number", min: 1, step: 0.5, oninput: () => sized(Math.round((Number(width.value) * MM[unit()] * perInch()) / 25.4), width) });
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
    widthName.textContent = words.inUnit(words.sizeWidth, unit());
    sizeSaid.textContent = words.sizeIs(lengths(millimetres(chosen.columns), millimetres(rows())), chosen.columns, rows());
  };
  const sized = (/** @type {number} */ squares, /** @type {Element | null} */ from = null) => {
    if (!(squares >= 20 && squares <= 2000)) return;
    chosen.columns = squares;
    sizes(from);
    lay();
    soon(from ? WRITTEN : 0);
  };
  const threads = ["range", "number"].map((type) => make("input", {
    type, min: 2, max: 80, id: type === "range" ? "threads" : "", "aria-label": words.colours,
    oninput: (/** @type {any} */ { target }) => {
      if (!(target.value >= 2 && target.value <= 80)) return;
      chosen.threads = Math.round(target.value);
      for (const other of threads) if (other !== target) other.value = target.value;
      soon(type === "range" ? 0 : WRITTEN);
    },
  }));
  // The chart that is there on another cloth stands until the one that is made for it has come.
  const onCloth = (/** @type {string} */ colour) => {
    chosen.colour = colour;
    soon();
    if (shown) beside.setChart(shown.chart, shown.at.part, stitched(shown.chart, colour));
  };
  const own = make("input", { type: "color", id: "own-cloth", oninput: () => {
    choose(cloths, own.value);
    onCloth(own.value);
  } });
  const cloths = choice("cloth", Object.entries(words.clothNames).map(([colour, text]) => [colour, patch(colour), text]), "", (colour) => {
    own.value = colour;
    onCloth(colour);
  }, words.clothColour);
  cloths.append(make("label", { class: "own", for: "own-cloth" }, own, make("span", {}, words.clothOwn)));

  const counts = choice("count", COUNTS.map((count) => [count, words.countSaid(count)]), "", (count) => {
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
    make("div", "row", cardPicker((file) => useCard(send("/api/card", file))), make("a", { class: "button", href: "#/card" }, words.cardLook), cardBack),
  );
  const useCard = async (/** @type {Promise<any>} */ asked, redo = true) => {
    const told = await asked;
    cardSaid.textContent = told.own ? words.cardOwn(told.name, told.threads) : words.cardDemo(told.threads);
    cardBack.hidden = !told.own;
    if (redo) soon();
  };
  useCard(get("/api/card"), false);

  const singles = choice("quiet", [["keep", words.quietKeep], ["few", words.quietFew], ["none", words.quietNone]], "", (value) => {
    chosen.confetti = value;
    soon();
  }, words.quiet);

  const form = questions(
    question(words.part, parts),
    question(words.cloth, cloths, make("p", {}, words.clothCount), counts, hand.element),
    question(
      words.size,
      make("div", "row fields",
        field(words.sizeAcross, across),
        field(widthName, width),
        choice("unit", Object.entries(words.unitNames), unit(), (value) => {
          localStorage.setItem("unit", value);
          sizes();
          farther();
          hand.soon();
        }, words.units)),
      sizeSaid,
    ),
    question(words.far, far, quiet(words.farHelp)),
    card,
    question(words.colours, make("div", "row slide", ...threads)),
    question(words.quiet, singles, quiet(words.quietHelp)),
    question(words.name, name),
  );

  /** What is chosen, in all that asks; nothing else moves. */
  const fill = () => {
    Object.assign(frame, { part: [...chosen.part], shape: chosen.shape });
    frame.show();
    own.value = chosen.colour;
    threads.forEach((one) => (one.value = String(chosen.threads)));
    choose(parts, partChosen());
    choose(cloths, chosen.colour);
    choose(counts, chosen.count);
    choose(far, String(chosen.far));
    choose(singles, chosen.confetti);
    sizes();
    farther();
    hand.soon();
  };

  /** @type {{ trial: string, settings: string } | null} */
  let made = null;
  /** @type {AbortController | null} */
  let stopping = null;
  let timer = 0;
  let squares = "";
  /** @type {Shown | null} what is seen */
  let shown = null;
  // A change is answered at once; while hands go on, when they rest.
  const soon = (pause = 0) => {
    look.setAttribute("aria-busy", "true");
    clearTimeout(timer);
    timer = setTimeout(() => tryOut(), pause || (stopping ? REST : 0));
  };

  /** Another part or size: its squares stand there at once. */
  const lay = () => {
    const key = [chosen.part, chosen.columns].join();
    if (key !== squares) beside.setSquares(photo.image, chosen.part, chosen.columns, rows());
    squares = key;
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
    if (shows) lay();
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
      const picture = stitched(chart);
      beside.setChart(chart, part, picture);
      said.textContent = words.made(chart.look.stitches, chart.look.threads, chart.figures.skeins);
      notes.replaceChildren(...notesOf(chart.figures).map((text) => make("li", {}, text)));
      shown = { settings: asked, at: { ...chosen, part }, chart, picture, says: said.textContent ?? "" };
      choices.beside(choiceOf(shown));
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

  /** What is shown, as one of several; whatever it will be called. @param {Shown} shown */
  const choiceOf = ({ settings, at, picture, says }) => ({
    key: JSON.stringify({ ...settings, title: null }),
    title: words.choice(at.threads, at.columns, words.clothNames[at.colour] ?? at.colour, at.count),
    says,
    picture,
    at,
  });

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
      place.kept(kept);
      place.go(`#/piece/${kept.piece}`);
    } finally {
      keep.disabled = false;
      keep.textContent = words.keep;
    }
  };

  look.append(
    make("div", "row over", showing, fullScreen(() => look)),
    pictures,
    make("div", "outcome", said, line.element, make("div", "under", partHelp, make("div", "row over", view, aside)), notes),
  );
  choices.list = photo.aside;
  choices.show();
  place.show(words.beginTitle, "", make("main", "begin", look, form), make("footer", "edge", keep));
  place.onLeave(() => {
    clearTimeout(timer);
    stopping?.abort();
    frame.leave();
    beside.leave();
  });
  place.onDrop((file) => (/\.csv$/i.test(file.name) ? useCard(send("/api/card", file)) : null));
  fill();
  // The first chart of a photo shows itself; whoever comes back sees what was seen.
  const isFirst = showed.photo !== photo;
  show(isFirst ? "part" : showed.as);
  tryOut().then(() => isFirst && pictures.dataset.show === "part" && show("beside"));
}

/** The photo that was seen last, and as what. */
let showed = { photo: {}, as: "" };

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

