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
      min: 0,
      max: 100,
      value: "50",
      class: "divider",
      "aria-label": words.divider,
      oninput: () => {
        this.share = Number(this.slider.value) / 100;
        this.draw();
      },
    });
    this.sides = [words.photoSide, words.stitchedSide].map((side) => make("span", {}, side));
    this.names = make("div", "side-names", ...this.sides);
    this.element = make("div", "beside", this.canvas, this.slider, this.names);
    this.observer = new ResizeObserver(() => this.draw());
    this.observer.observe(this.element);
  }

  leave() {
    this.observer.disconnect();
  }

  /** The photo in squares, in its own colours: what stands there until threads are chosen. @param {HTMLImageElement} photo @param {number[]} part @param {number} columns @param {number} rows */
  setSquares(photo, part, columns, rows) {
    this.photo = photo;
    this.part = part;
    const { naturalWidth: width, naturalHeight: height } = photo;
    const [x, y, wide, high] = part;
    const canvas = make("canvas", { width: columns, height: rows });
    const context = pen(canvas);
    context.imageSmoothingQuality = "high";
    context.drawImage(photo, x * width, y * height, wide * width, high * height, 0, 0, columns, rows);
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
      const style = getComputedStyle(this.element);
      context.fillStyle = style.getPropertyValue("--lead");
      context.fillRect(edge - 1.5 * scale, 0, 3 * scale, h);
      // A grip to drag it by, which is never out of the picture.
      const half = 18 * scale;
      context.setTransform(scale, 0, 0, scale, Math.max(half, Math.min(edge, w - half)), h / 2);
      context.fillRect(-18, -18, 36, 36);
      context.fillStyle = style.getPropertyValue("--on-lead");
      context.fill(new Path2D("M-13 0l9-8v16zM13 0l-9-8v16z"));
    }
    // No name lies on the other side.
    [edge, w - edge].forEach((part, at) => (this.sides[at].style.visibility = part < Math.min(80 * scale, w / 3) ? "hidden" : ""));
  }
}
