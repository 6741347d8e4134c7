// Choices that were set aside, to stand beside each other: two or three charts of one photo.

import { make, pen } from "./make.js";
import { button } from "./parts.js";
import { words } from "./words.js";

/** More than three are not seen at once. */
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
    this.element = make("ul", { class: "choices" });
  }

  /** Whether something is set aside. */
  get some() {
    return this.list.length > 0;
  }

  /** Sets one aside; the oldest goes where there are too many. @param {Choice} choice */
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
    this.element.replaceChildren(
      ...this.list.map((one) => {
        one.picture.setAttribute("role", "img");
        one.picture.setAttribute("aria-label", one.title);
        const back = button(words.choiceBack, one.back, undefined, { "aria-label": words.choiceBackTo(one.title) });
        const off = button(words.choiceOff, () => this.remove(one), undefined, { "aria-label": words.choiceOffOf(one.title) });
        return make("li", {}, one.picture, make("strong", {}, one.title), make("span", {}, one.says), make("div", { class: "row" }, back, off));
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
