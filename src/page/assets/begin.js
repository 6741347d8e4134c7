// Begin: a photo, and six questions in the order in which a stitcher asks them. What is shown stitched is the chart that
// would be kept.

import { change, get, send, Trouble, work } from "./ask.js";
import { Beside, stitched } from "./beside.js";
import { chartOf } from "./chart.js";
import { Choices } from "./choices.js";
import { Frame } from "./frame.js";
import { atHand } from "./hand.js";
import { hoop, make, runningStitch } from "./make.js";
import { symbolFont } from "./tiles.js";
import { lengths, MM, setUnit, unit } from "./units.js";
import { words } from "./words.js";

/** Counts that are sold everywhere (common practice, no source). */
const COUNTS = ["11", "14", "16", "18", "20", "22", "25", "28/2"];

/** How long hands may move before a chart is begun. */
const REST = 150;

/** From how far a piece is looked at, in metres: in the hand, on a wall, across a room. The second is what `make` takes where it is told nothing. */
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

/**
 * A choice of few, each a button of a group.
 * @param {string} name
 * @param {[string, string][]} options values and words
 * @param {string} value
 * @param {(value: string) => void} chose
 * @param {string} [spoken]
 */
export function choice(name, options, value, chose, spoken) {
  const group = make("div", { class: "choice", role: "radiogroup", "aria-label": spoken });
  for (const [one, text] of options) {
    const input = make("input", { type: "radio", name, value: one, checked: one === value, onchange: () => chose(one) });
    group.append(make("label", {}, input, make("span", {}, text)));
  }
  return group;
}

/** @param {import("./main.js").Place} place */
export function begin(place) {
  if (waiting) {
    const file = waiting;
    waiting = null;
    take(place, file);
    return;
  }
  if (!chosen.photo) return ask(place);
  questions(place, chosen.photo);
}

/** Asks for a photo. @param {import("./main.js").Place} place */
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
      filePicker(words.bringPaper, ".pdf,application/pdf", place.take, "plain", true),
      make("p", {}, words.bringPaperHow),
      make("p", { class: "quiet" }, words.bringPhotoMind),
    ),
  );
}

/**
 * A button that asks for a file, or for several.
 * @param {string} text @param {string} accept @param {(files: File[]) => void} took @param {string} [kind] @param {boolean} [multiple]
 */
export function filePicker(text, accept, took, kind = "", multiple = false) {
  const input = make("input", { type: "file", accept, multiple, class: "unseen", tabIndex: -1, "aria-hidden": "true" });
  input.addEventListener("change", () => {
    const files = [...(input.files ?? [])];
    input.value = "";
    if (files.length) took(files);
  });
  const button = make("button", { type: "button", class: kind, onclick: () => input.click() }, text);
  return make("span", { class: "picker" }, button, input);
}

/** Takes a photo in. @param {import("./main.js").Place} place @param {File} file */
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
    if (place.is("#/begin")) questions(place, chosen.photo);
  } catch (error) {
    place.trouble(error);
    if (place.is("#/begin")) ask(place);
  }
}

/** @param {import("./main.js").Place} place @param {NonNullable<typeof chosen.photo>} photo */
function questions(place, photo) {
  const parts = { look: make("div", { class: "look" }) };
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
  const pictures = make("div", { class: "pictures", "data-show": "part" }, frame.element, beside.element, choices.element);
  const showing = choice("showing", [["part", words.showPart], ["beside", words.showBeside], ["choices", words.showChoices]], "part", (value) => show(value), words.show);
  const thirdShow = /** @type {HTMLElement} */ (showing.lastElementChild);
  thirdShow.hidden = true;
  const show = (/** @type {string} */ value) => {
    pictures.dataset.show = value;
    for (const input of showing.querySelectorAll("input")) input.checked = input.value === value;
    view.hidden = value !== "beside";
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
  const full = fullScreen(() => parts.look);
  const aside = make("button", { type: "button", class: "plain", hidden: true, onclick: () => setAside() }, words.setAside);

  const said = make("p", { class: "figures", role: "status" });
  const notes = make("ul", { class: "notes" });
  const busy = make("div", { class: "busy" });
  const keep = make("button", { type: "button", class: "first", onclick: () => keepIt() }, words.keep);

  // Questions.
  const name = make("input", { type: "text", value: chosen.title, maxLength: 120, id: "title", oninput: () => (chosen.title = name.value) });
  const sizeSaid = make("p", { class: "quiet" });
  const across = make("input", { type: "number", min: "20", max: "2000", step: "1", id: "across", oninput: () => fromAcross() });
  const width = make("input", { type: "number", min: "1", step: "0.5", id: "width", oninput: () => fromWidth() });
  const widthLabel = make("label", { for: "width" });
  const perInch = () => (chosen.count.includes("/") ? Number(chosen.count.split("/")[0]) / Number(chosen.count.split("/")[1]) : Number(chosen.count));
  const millimetres = (/** @type {number} */ squares) => (squares / perInch()) * 25.4;
  const rows = () => Math.max(4, Math.round(chosen.columns / shape()));
  const sizes = (/** @type {Element | null} */ from = null) => {
    if (from !== across) across.value = String(chosen.columns);
    if (from !== width) width.value = String(Math.round((millimetres(chosen.columns) / MM[unit()]) * 10) / 10);
    widthLabel.textContent = words.sizeWidth(unit() === "cm" ? words.centimetres : words.inches);
    sizeSaid.textContent = words.sizeIs(lengths(millimetres(chosen.columns), millimetres(rows())), chosen.columns, rows());
  };
  const fromAcross = () => {
    const squares = Math.round(Number(across.value));
    if (squares < 20 || squares > 2000) return;
    chosen.columns = squares;
    sizes(across);
    soon();
  };
  const fromWidth = () => {
    const squares = Math.round((Number(width.value) * MM[unit()] * perInch()) / 25.4);
    if (!(squares >= 20 && squares <= 2000)) return;
    chosen.columns = squares;
    sizes(width);
    soon();
  };
  const threadsSaid = make("output", { for: "threads" }, String(chosen.threads));
  const threads = make("input", {
    type: "range", min: "2", max: "80", value: String(chosen.threads), id: "threads",
    oninput: () => {
      chosen.threads = Number(threads.value);
      threadsSaid.textContent = threads.value;
      soon();
    },
  });
  const own = make("input", { type: "color", value: chosen.colour, id: "own-cloth", oninput: () => {
    chosen.colour = own.value;
    soon();
  } });
  const cloths = make("div", { class: "choice cloths", role: "radiogroup", "aria-label": words.clothColour });
  for (const [colour, text] of Object.entries(words.clothNames)) {
    const patch = make("span", { class: "patch" });
    patch.style.backgroundColor = colour;
    const input = make("input", { type: "radio", name: "cloth", value: colour, checked: chosen.colour === colour, onchange: () => {
      chosen.colour = colour;
      own.value = colour;
      soon();
    } });
    cloths.append(make("label", {}, input, make("span", {}, patch, text)));
  }
  cloths.append(make("label", { class: "own", for: "own-cloth" }, own, make("span", {}, words.clothOwn)));

  const counts = choice("count", COUNTS.map((count) => [count, words.countSaid(count)]), chosen.count, (count) => {
    chosen.count = count;
    sizes();
    soon();
  }, words.clothCount);
  const hand = atHand(() => photo.photo, () => ({ ...settings(), size: undefined }), (count, columns) => {
    chosen.count = count;
    chosen.columns = columns;
    for (const input of counts.querySelectorAll("input")) input.checked = input.value === count;
    sizes();
    soon();
  });

  const cardSaid = make("p", {});
  const cardBack = make("button", { type: "button", class: "plain", onclick: () => useCard(change("/api/card", undefined, "DELETE")) }, words.cardBack);
  const card = question(
    words.threads,
    cardSaid,
    make("div", { class: "row" }, filePicker(words.cardBring, ".csv,text/csv,text/plain", ([file]) => useCard(send("/api/card", file)), "plain"), make("a", { class: "button plain", href: "#/card" }, words.cardLook), cardBack),
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
  const form = make(
    "form",
    { class: "questions", onsubmit: (/** @type {Event} */ event) => event.preventDefault() },
    question(
      words.part,
      make("div", { class: "row" }, ...shapes.map(([text, of]) => make("button", { type: "button", class: "plain", onclick: () => {
        show("part");
        frame.keepShape(of);
      } }, text))),
      make("p", { class: "quiet", id: "part-help" }, words.partHelp),
    ),
    question(words.cloth, cloths, make("p", { class: "label" }, words.clothCount), counts, hand.element),
    question(
      words.size,
      make("div", { class: "row fields" },
        make("span", { class: "field" }, make("label", { for: "across" }, words.sizeAcross), across),
        make("span", { class: "field" }, widthLabel, width),
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
    question(words.colours, make("div", { class: "row slide" }, threads, threadsSaid)),
    question(words.quiet, choice("quiet", [["keep", words.quietKeep], ["few", words.quietFew], ["none", words.quietNone]], chosen.confetti, (value) => {
      chosen.confetti = value;
      soon();
    }, words.quiet), make("p", { class: "quiet" }, words.quietHelp)),
    question(words.name, name),
  );
  threads.setAttribute("aria-label", words.colours);
  name.setAttribute("aria-label", words.name);

  // What is being made.
  /** @type {{ trial: string, settings: string } | null} */
  let made = null;
  /** @type {AbortController | null} */
  let stopping = null;
  let timer = 0;
  let squares = "";
  /** @type {{ settings: any, at: typeof chosen, picture: HTMLCanvasElement, says: string } | null} what is seen */
  let shown = null;
  const soon = () => {
    parts.look.setAttribute("aria-busy", "true");
    clearTimeout(timer);
    timer = setTimeout(() => tryOut().catch(place.trouble), REST);
  };

  /** Makes the chart of what is chosen; what was being made before is stopped. @param {boolean} shows whether the picture follows */
  const tryOut = async (shows = true) => {
    clearTimeout(timer);
    stopping?.abort();
    parts.look.setAttribute("aria-busy", "true");
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
      busy.replaceChildren(runningStitch(0, words.making));
    }, 1000);
    try {
      const done = await work(`/api/photos/${photo.photo}/try`, asked, (event, data) => {
        if (event === "stage" && busy.firstChild) {
          const stage = words.stages[data.stage] ?? words.making;
          busy.replaceChildren(runningStitch(data.hundredths / 100, words.stageAt(stage, data.hundredths)));
          said.textContent = stage;
        }
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
      shown = { settings: asked, at: { ...chosen, part }, picture, says: said.textContent ?? "" };
      aside.hidden = false;
      return made;
    } catch (error) {
      if (error instanceof DOMException && error.name === "AbortError") return null;
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
        busy.replaceChildren();
        parts.look.removeAttribute("aria-busy");
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
        questions(place, photo);
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
      place.say(kept.came === "already" ? words.keptAlready(kept.name) : words.keptNew(kept.name));
      place.go(`#/piece/${kept.piece}`);
    } catch (error) {
      place.trouble(error);
    } finally {
      keep.disabled = false;
      keep.textContent = words.keep;
    }
  };

  parts.look.append(
    make("div", { class: "row over" }, showing, full),
    pictures,
    make("div", { class: "outcome" }, said, busy, make("div", { class: "row under" }, view, aside), notes),
  );
  choices.list = photo.aside;
  choices.show();
  place.show(
    words.beginTitle,
    words.beginTitle,
    make("main", { class: "begin" }, parts.look, form),
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

/** A button that gives a part of the page the whole screen, and takes it back. @param {() => HTMLElement} of */
export function fullScreen(of) {
  const button = make("button", { type: "button", class: "plain full", hidden: !document.fullscreenEnabled, onclick: () => {
    if (document.fullscreenElement) document.exitFullscreen();
    else of().requestFullscreen();
  } }, words.fullScreen);
  // One such button is there at a time: the last one made.
  document.onfullscreenchange = () => (button.textContent = document.fullscreenElement ? words.fullScreenEnd : words.fullScreen);
  return button;
}

/** A distance as people say it. @param {number} metres */
function farInWords(metres) {
  return unit() === "cm" ? words.metres(metres) : words.feet(Math.round(metres / 0.3048));
}

/** @param {string} title @param {...(Node | string)} inside */
export function question(title, ...inside) {
  return make("fieldset", { class: "question" }, make("legend", {}, title), ...inside);
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

