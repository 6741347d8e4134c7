// The photo and the stitched piece in one place, with a divider to drag between them.

import { make, pen, within } from "./make.js";
import { Tiles } from "./tiles.js";
import { PIXEL } from "./units.js";
import { words } from "./words.js";

/** Pixels of a square in the picture of the stitched piece: legs of crosses are seen from here on. */
const SIDE = 8;

/** The widest picture that a browser draws on everywhere. */
const WIDEST = 4096;

/** From the eyes to a screen on a table, in metres (common practice, no source). */
const SCREEN = 0.6;

/** A chart as it will look stitched, large enough that its crosses are seen. @param {import("./chart.js").Chart} chart @param {string} [cloth] another colour of cloth than its own */
export function stitched(chart, cloth = chart.look.cloth.colour) {
  const tiles = new Tiles({ ...chart, look: { ...chart.look, cloth: { ...chart.look.cloth, colour: cloth } } });
  tiles.show = "stitched";
  const { columns, rows } = chart.look.size;
  const side = Math.min(SIDE, Math.floor(WIDEST / Math.max(columns, rows)));
  if (side < 3) return tiles.far();
  const canvas = make("canvas", { width: columns * side, height: rows * side });
  tiles.draw(pen(canvas), side, [0, 0, columns, rows]);
  return canvas;
}

export class Beside {
  constructor() {
    this.share = 0.5;
    /** @type {HTMLImageElement | null} */
    this.photo = null;
    /** @type {number[]} left, top, width and height of the part that is used, from 0 to 1 */
    this.part = [0, 0, 1, 1];
    /** @type {HTMLCanvasElement | null} */
    this.stitched = null;
    this.isSquares = false;
    this.shape = 1;
    /** Millimetres across, as finished. */
    this.wide = 250;
    /** @type {number | null} */
    this.metres = null;
    this.canvas = make("canvas", { class: "beside-picture", role: "img" });
    this.slider = make("input", {
      type: "range",
      min: "0",
      max: "100",
      value: "50",
      class: "divider",
      "aria-label": words.divider,
      oninput: () => {
        this.share = Number(this.slider.value) / 100;
        this.draw();
      },
    });
    this.names = make("div", { class: "side-names" }, ...[words.photoSide, words.stitchedSide].map((side) => make("span", {}, side)));
    this.element = make("div", { class: "beside" }, this.canvas, this.slider, this.names);
    this.observer = new ResizeObserver(() => this.draw());
    this.observer.observe(this.element);
  }

  leave() {
    this.observer.disconnect();
  }

  /** @param {HTMLImageElement} photo @param {number[]} part @param {number} shape width by height of the part */
  setPhoto(photo, part, shape) {
    this.photo = photo;
    this.part = part;
    if (!this.stitched) this.shape = shape;
    this.draw();
  }

  /** The photo in squares, in its own colours: what stands there until threads are chosen. @param {number} columns @param {number} rows */
  setSquares(columns, rows) {
    if (!this.photo) return;
    const { naturalWidth: width, naturalHeight: height } = this.photo;
    const [x, y, wide, high] = this.part;
    const canvas = make("canvas", { width: columns, height: rows });
    const context = pen(canvas);
    context.imageSmoothingQuality = "high";
    context.drawImage(this.photo, x * width, y * height, wide * width, high * height, 0, 0, columns, rows);
    this.stitched = canvas;
    this.isSquares = true;
    this.shape = columns / rows;
    this.draw();
  }

  /** @param {import("./chart.js").Chart} chart @param {number[]} part that it was made of @param {HTMLCanvasElement} [worked] it as it is drawn */
  setChart(chart, part, worked = stitched(chart)) {
    const { columns, rows } = chart.look.size;
    this.stitched = worked;
    this.isSquares = false;
    this.part = part;
    this.shape = columns / rows;
    this.wide = chart.look.finished_mm[0];
    this.canvas.setAttribute("aria-label", `${chart.look.title}, ${words.stitchedSide}`);
    this.draw();
  }

  /** As large as a piece on the wall looks from there; as large as there is room where nothing is said. @param {number | null} metres */
  seeFrom(metres) {
    this.metres = metres;
    this.draw();
  }

  draw() {
    const scale = devicePixelRatio || 1;
    const [across, down] = [this.element.clientWidth, this.element.clientHeight];
    if (!across || !down) return;
    const room = Math.min(across, down * this.shape);
    const width = this.metres ? Math.min(room, (this.wide / PIXEL) * (SCREEN / this.metres)) : room;
    const height = width / this.shape;
    this.canvas.style.inlineSize = `${width}px`;
    this.canvas.style.blockSize = `${height}px`;
    for (const part of [this.slider, this.names]) part.style.inlineSize = `${Math.max(width, 150)}px`;
    this.canvas.width = Math.round(width * scale);
    this.canvas.height = Math.round(height * scale);
    const context = pen(this.canvas);
    const [w, h] = [this.canvas.width, this.canvas.height];
    context.imageSmoothingQuality = "high";
    const { photo, stitched } = this;
    const edge = stitched ? Math.round(w * this.share) : w;
    if (photo && edge > 0) {
      const { naturalWidth: pw, naturalHeight: ph } = photo;
      const [x, y, pwide, phigh] = this.part;
      within(context, [0, 0, edge, h], () => context.drawImage(photo, x * pw, y * ph, pwide * pw, phigh * ph, 0, 0, w, h));
    }
    if (stitched && edge < w) {
      context.imageSmoothingEnabled = !this.isSquares;
      within(context, [edge, 0, w - edge, h], () => context.drawImage(stitched, 0, 0, w, h));
      context.fillStyle = getComputedStyle(this.element).getPropertyValue("--lead");
      context.fillRect(edge - 1.5 * scale, 0, 3 * scale, h);
    }
  }
}
