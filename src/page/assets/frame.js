// The part of the photo that is used: a frame over it.

import { make } from "./make.js";
import { words } from "./words.js";

/** The smallest part, as a share of a side. */
const LEAST = 0.05;

export class Frame {
  /** @param {HTMLImageElement} photo @param {(part: number[]) => void} changed is told the part: left, top, width, height from 0 to 1 */
  constructor(photo, changed) {
    this.photo = photo;
    this.changed = changed;
    this.part = [0, 0, 1, 1];
    /** @type {number | null} width by height in pixels, where it is kept */
    this.shape = null;
    this.box = make("div", { class: "part", tabIndex: 0, role: "group", "aria-label": words.partFrame, "aria-describedby": "part-help" });
    for (const corner of ["nw", "ne", "sw", "se"]) this.box.append(make("span", { class: `corner ${corner}` }));
    this.pane = make("div", "photo-pane", photo, this.box);
    this.element = make("div", "photo-frame", this.pane);
    this.listen();
    this.observer = new ResizeObserver(() => this.fit());
    this.observer.observe(this.element);
  }

  leave() {
    this.observer.disconnect();
  }

  /** The photo as large as there is room. */
  fit() {
    const shape = this.photo.naturalWidth / Math.max(1, this.photo.naturalHeight);
    const width = Math.min(this.element.clientWidth, this.element.clientHeight * shape);
    this.pane.style.inlineSize = `${width}px`;
    this.pane.style.blockSize = `${width / shape}px`;
  }

  show() {
    const [left, top, width, height] = this.part.map((share) => `${share * 100}%`);
    Object.assign(this.box.style, { left, top, width, height });
  }

  /** @param {number[]} part */
  set(part) {
    const [, , wide, high] = part;
    const width = Math.max(LEAST, Math.min(1, wide));
    const height = Math.max(LEAST, Math.min(1, high));
    this.part = [Math.max(0, Math.min(part[0], 1 - width)), Math.max(0, Math.min(part[1], 1 - height)), width, height];
    this.show();
    this.changed(this.part);
  }

  /** The largest part of a shape, in the middle; all of it where none is said. @param {number | null} shape */
  keepShape(shape) {
    this.shape = shape;
    if (shape === null) return this.set([0, 0, 1, 1]);
    const of = this.photo.naturalWidth / this.photo.naturalHeight;
    const width = Math.min(1, shape / of);
    const height = Math.min(1, of / shape);
    this.set([(1 - width) / 2, (1 - height) / 2, width, height]);
  }

  /** The height that goes with a width, where the shape is kept. @param {number} width @param {number} height */
  shaped(width, height) {
    if (this.shape === null) return [width, height];
    const of = this.photo.naturalWidth / this.photo.naturalHeight / this.shape;
    return width * of <= 1 ? [width, width * of] : [1 / of, 1];
  }

  listen() {
    /** @type {{ x: number, y: number, part: number[], corner: string } | null} */
    let held = null;
    this.box.onpointerdown = (event) => {
      const corner = /** @type {HTMLElement} */ (event.target).classList[1] ?? "";
      held = { x: event.clientX, y: event.clientY, part: [...this.part], corner };
      this.box.setPointerCapture(event.pointerId);
      event.preventDefault();
      this.box.focus({ preventScroll: true });
    };
    this.box.onpointermove = (event) => {
      if (!held) return;
      const by = [(event.clientX - held.x) / this.pane.clientWidth, (event.clientY - held.y) / this.pane.clientHeight];
      const [left, top, width, height] = held.part;
      if (!held.corner) return this.set([left + by[0], top + by[1], width, height]);
      const [west, north] = [held.corner.includes("w"), held.corner.includes("n")];
      const most = [west ? left + width : 1 - left, north ? top + height : 1 - top];
      let [wide, high] = this.shaped(
        Math.max(LEAST, Math.min(width + (west ? -by[0] : by[0]), most[0])),
        Math.max(LEAST, Math.min(height + (north ? -by[1] : by[1]), most[1])),
      );
      if (high > most[1]) [wide, high] = [(wide * most[1]) / high, most[1]];
      this.set([west ? left + width - wide : left, north ? top + height - high : top, wide, high]);
    };
    this.box.onpointerup = this.box.onpointercancel = () => (held = null);
    this.box.onkeydown = (event) => {
      const [left, top, width, height] = this.part;
      const by = event.shiftKey ? 0.1 : 0.01;
      const ways = /** @type {Record<string, [number, number]>} */ ({ ArrowLeft: [-by, 0], ArrowRight: [by, 0], ArrowUp: [0, -by], ArrowDown: [0, by] });
      const way = ways[event.key];
      if (way) this.set([left + way[0], top + way[1], width, height]);
      else if ("+=-".includes(event.key)) {
        const wide = Math.max(LEAST, Math.min(1, width + (event.key === "-" ? -by : by) * 2));
        const [w, h] = [wide, Math.min(1, (height * wide) / width)];
        this.set([left - (w - width) / 2, top - (h - height) / 2, w, h]);
      } else return;
      event.preventDefault();
    };
  }
}
