// Choices that are held to stand beside what is chosen now: a few charts of one photo.

import { make, pen } from "./make.js";
import { button } from "./parts.js";
import { words } from "./words.js";

const MOST = 3;

/** Pixels of the longer side of a picture. */
const LONGEST = 1200;

/** @typedef {{ key: string, title: string, says: string, picture: HTMLCanvasElement, back: () => void }} Choice */

export class Choices {
  /** @param {() => void} changed is told when one is added or taken off */
  constructor(changed) {
    this.changed = changed;
    /** @type {Choice[]} */
    this.list = [];
    /** @type {Choice | null} what is chosen now */
    this.now = null;
    this.element = make("ul", { class: "choices" });
  }

  /** What is chosen now. @param {Choice} now */
  beside(now) {
    this.now = now;
    if (this.some) this.show();
  }

  get some() {
    return this.list.length > 0;
  }

  /** Holds one; the oldest goes where there are too many. @param {Choice} choice */
  add(choice) {
    this.list = [...this.list.filter((one) => one.key !== choice.key), { ...choice, picture: smaller(choice.picture) }].slice(-MOST);
    this.show();
  }

  /** @param {Choice} choice */
  remove(choice) {
    this.list = this.list.filter((one) => one !== choice);
    this.show();
  }

  show() {
    const { list, now } = this;
    const isNow = (/** @type {Choice} */ one) => one.key === now?.key;
    const all = now && !list.some(isNow) ? [...list, { ...now, picture: smaller(now.picture) }] : list;
    this.element.replaceChildren(
      ...all.map((one) => {
        const { picture, title, says } = one;
        picture.setAttribute("role", "img");
        picture.setAttribute("aria-label", title);
        const back = isNow(one) ? make("span", { class: "quiet" }, words.choiceNow) : button(words.choiceBack, one.back, undefined, { "aria-label": words.choiceBackTo(title) });
        const off = list.includes(one) && button(words.choiceOff, () => this.remove(one), undefined, { "aria-label": words.choiceOffOf(title) });
        return make("li", {}, picture, make("strong", {}, title), make("span", {}, says), make("div", { class: "row" }, back, off));
      }),
    );
    this.changed();
  }
}

/** @param {HTMLCanvasElement} picture */
function smaller(picture) {
  const by = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
  const canvas = make("canvas", { width: Math.round(picture.width * by), height: Math.round(picture.height * by) });
  const context = pen(canvas);
  context.imageSmoothingQuality = "high";
  context.drawImage(picture, 0, 0, canvas.width, canvas.height);
  return canvas;
}
