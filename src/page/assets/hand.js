// The cloth and the frame at hand: on which counts, and how large, the photo goes on them.

import { change, Trouble } from "./ask.js";
import { make } from "./make.js";
import { button, field, quiet } from "./parts.js";
import { lengths, unit } from "./units.js";
import { words } from "./words.js";

/** How long hands may move before it is asked, in milliseconds. */
const REST = 300;

/** What was written down; it stays while the page is open. */
const written = { across: "", down: "", frame: "", frameDown: "" };

/** @param {() => string} photo its id @param {() => object} settings what it would be made by, but for count and size @param {(count: string, columns: number) => void} took is told what is chosen */
export function atHand(photo, settings, took) {
  const list = make("ul", "offers");
  const said = make("p", { role: "status" });
  let timer = 0;
  let asks = 0;
  /** A size as the command takes it. @param {string} one @param {string} other */
  const size = (one, other) => `${Number(one)}x${Number(other || one)}${unit()}`;
  const ask = async () => {
    const mine = ++asks;
    if (!(Number(written.across) > 0)) {
      said.textContent = "";
      return list.replaceChildren();
    }
    const cloth = size(written.across, written.down);
    const frame = Number(written.frame) > 0 ? size(written.frame, written.frameDown) : null;
    try {
      const { offers } = await change(`/api/photos/${photo()}/offers`, { cloth, frame, settings: settings() });
      if (mine !== asks) return;
      said.textContent = words.offersAre;
      list.replaceChildren(...offers.map((/** @type {any} */ offer) => {
        const text = words.offer(words.countSaid(offer.count), lengths(offer.finished_mm[0], offer.finished_mm[1]), offer.columns, offer.rows);
        return make("li", {}, button(text, () => took(offer.count, offer.columns), offer.chosen && "best"), make("span", "quiet", words.eyes[offer.eyes]));
      }));
    } catch (error) {
      if (mine !== asks) return;
      list.replaceChildren();
      said.textContent = error instanceof Trouble ? error.message : words.couldNot;
    }
  };
  const soon = () => {
    clearTimeout(timer);
    for (const [span, name] of names) span.textContent = words.inUnit(name, unit());
    if (element.open) timer = setTimeout(ask, REST);
  };
  /** @type {[HTMLElement, string][]} */
  const names = [];
  /** @param {keyof typeof written} key @param {string} name */
  const length = (key, name) => {
    const input = make("input", { type: "number", min: 0, step: "any", value: written[key], oninput: () => {
      written[key] = input.value;
      soon();
    } });
    const said = make("span");
    names.push([said, name]);
    return field(said, input);
  };
  const element = make(
    "details",
    { class: "at-hand", open: written.across !== "", ontoggle: soon },
    make("summary", {}, words.atHand),
    make("div", "row fields", length("across", words.clothAcross), length("down", words.clothDown)),
    make("div", "row fields", length("frame", words.frameAcross), length("frameDown", words.frameDown)),
    quiet(words.atHandHelp),
    said,
    list,
  );
  return { element, soon };
}
