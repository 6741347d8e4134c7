// Choices that are held to stand beside what is chosen now: a few charts of one photo.

import { make, pen } from "./make.js";
import { button } from "./parts.js";
import { words } from "./words.js";

/** More are held by no hand; the oldest goes. */
const MOST = 5;

/** Pixels of the longer side of a picture. */
const LONGEST = 1200;

/** @typedef {{ key: string, title: string, says: string, picture: HTMLCanvasElement, at: any }} Choice `at` is what was chosen for it */

export class Choices {
  /** @param {() => void} changed is told when one is added or taken off @param {(choice: Choice) => void} chose */
  constructor(changed, chose) {
    this.changed = changed;
    this.chose = chose;
    /** @type {Choice[]} */
    this.list = [];
    /** @type {Choice | null} what is chosen now */
    this.now = null;
    this.element = make("ul", "choices");
  }

  /** What is chosen now. @param {Choice} now */
  beside(now) {
    this.now = now;
    if (this.some) this.show();
  }

  get some() {
    return this.list.length > 0;
  }

  /** Holds one. @param {Choice} choice */
  add(choice) {
    if (!this.list.some((one) => one.key === choice.key)) this.list = [...this.list, { ...choice, picture: smaller(choice.picture) }].slice(-MOST);
    this.show();
  }

  /** Goes on with one of them; what was chosen before is held in its place. @param {Choice} choice */
  back(choice) {
    if (this.now) this.add(this.now);
    this.now = choice;
    this.show();
    this.chose(choice);
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
    const hadKeys = this.element.contains(document.activeElement);
    this.element.replaceChildren(
      ...all.map((one) => {
        const { picture, title, says } = one;
        picture.setAttribute("role", "img");
        picture.setAttribute("aria-label", title);
        const isKept = isNow(one);
        const back = isKept ? make("strong", { tabIndex: -1 }, words.choiceNow) : button(words.choiceBack, () => this.back(one), undefined, { "aria-label": words.choiceBackTo(title) });
        const off = list.includes(one) && (!isKept || list.length === 1) && button(words.choiceOff, () => this.remove(one), undefined, { "aria-label": words.choiceOffOf(title) });
        return make("li", { class: isKept && "now" }, picture, make("strong", {}, title), make("span", {}, says), make("div", "row", back, off));
      }),
    );
    // What was pressed is gone: keys go on from what is chosen now.
    if (hadKeys) /** @type {HTMLElement | null} */ (this.element.querySelector("[tabindex]"))?.focus({ preventScroll: true });
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
