// Pictures of a chart: one pixel a square for far views, tiles of 512 pixels for near ones. A worker draws them as well as
// the page: there is no document in here but to make canvases of, where there is one.

import { BARE, channels, css, luminance, mixed } from "./chart.js";
import { make, pen, within } from "./make.js";
import { drawOnPaper } from "./onpaper.js";

/** @typedef {import("./chart.js").Chart} Chart @typedef {import("./chart.js").Rgb} Rgb @typedef {CanvasRenderingContext2D} Pen @typedef {"symbols" | "colours" | "both" | "stitched" | "printed"} Show */

const TILE = 512;

/** Squares smaller than this many pixels are shown as the far picture. */
export const NEAR = 6;

/** Pixels of the longer side of a far picture with outlines. */
const FAR = 2000;

/** The least width of an outline, and of what it is laid on to stand apart, in pixels. */
const THIN = [1.8, 3];

/** The least contrast of a black symbol on what fills its square (WCAG 2.2, 1.4.6). */
const CONTRAST = 7;

const BLACK = /** @type {Rgb} */ ([0, 0, 0]);
const WHITE = /** @type {Rgb} */ ([255, 255, 255]);
const PAPER = "#fffdf8";

/** The tint of a thread on which a black symbol is read. @param {string} colour @returns {Rgb} */
function tint(colour) {
  const thread = channels(colour);
  for (let share = 0.35; share < 1; share += 0.05) {
    const pale = mixed(thread, WHITE, share);
    if ((luminance(pale) + 0.05) / 0.05 >= CONTRAST) return pale;
  }
  return WHITE;
}

/** The same in greys. @param {string} colour */
function greyTint(colour) {
  const light = luminance(tint(colour));
  const value = Math.round(255 * (light <= 0.0031308 ? light * 12.92 : 1.055 * light ** (1 / 2.4) - 0.055));
  return /** @type {Rgb} */ ([value, value, value]);
}

/** A canvas of the page or of a worker. @param {number} width @param {number} height @returns {HTMLCanvasElement} */
function canvasOf(width, height) {
  if (typeof document === "undefined") return /** @type {any} */ (new OffscreenCanvas(width, height));
  return make("canvas", { width, height });
}

export class Tiles {
  /** @param {Chart} chart */
  constructor(chart) {
    this.chart = chart;
    const { columns, rows } = chart.look.size;
    this.columns = columns;
    this.rows = rows;
    /** @type {Show} */
    this.show = "both";
    /** @type {number | null} the needle that stands out */
    this.front = null;
    this.grey = false;
    /** @type {Map<string, Uint32Array>} */
    this.sprites = new Map();
  }

  /** Whether a needle steps back behind another. @param {number} needle */
  isBack(needle) {
    return this.front !== null && needle !== this.front;
  }

  /** The colour of a square seen from afar. @param {number} needle @returns {Rgb} */
  farColour(needle) {
    const { needles, cloth } = this.chart.look;
    const ground = channels(cloth.colour);
    if (needle === BARE) return ground;
    const colour = channels(this.show === "stitched" ? needles[needle].seen : needles[needle].colour);
    // Threads of a paper may all be greys: from afar, one that stands out is seen by its ink.
    if (this.show === "printed" && needle === this.front) return [140, 29, 43];
    return this.isBack(needle) ? mixed(mixed(colour, WHITE, 0.45), ground, 0.6) : colour;
  }

  /** A far picture with outlines: so many pixels a square as it has room for. */
  farWithLines() {
    const side = Math.max(1, Math.min(4, Math.floor(FAR / Math.max(this.columns, this.rows))));
    const far = this.far();
    if (side === 1) return far;
    const canvas = canvasOf(this.columns * side, this.rows * side);
    const context = pen(canvas);
    context.imageSmoothingEnabled = false;
    context.drawImage(far, 0, 0, canvas.width, canvas.height);
    this.lines(context, side, [0, 0, this.columns, this.rows]);
    return canvas;
  }

  /** One pixel a square. */
  far() {
    const canvas = canvasOf(this.columns, this.rows);
    const context = pen(canvas);
    const image = context.createImageData(this.columns, this.rows);
    const words = new Uint32Array(image.data.buffer);
    const colours = new Uint32Array(256);
    for (const needle of [...this.chart.look.needles.keys(), BARE]) {
      const [r, g, b] = this.farColour(needle);
      colours[needle] = 0xff000000 | (b << 16) | (g << 8) | r;
    }
    const { cells } = this.chart;
    for (let at = 0; at < cells.length; at += 1) words[at] = colours[cells[at]];
    context.putImageData(image, 0, 0);
    return canvas;
  }

  /** How many squares a tile has along a side. @param {number} side pixels of a square */
  static squares(side) {
    return Math.max(1, Math.floor(TILE / side));
  }

  /** Draws a tile. @param {number} side @param {number} x @param {number} y */
  tile(side, x, y) {
    const squares = Tiles.squares(side);
    const [left, top] = [x * squares, y * squares];
    const [across, down] = [Math.min(squares, this.columns - left), Math.min(squares, this.rows - top)];
    const canvas = canvasOf(across * side, down * side);
    this.draw(pen(canvas), side, [left, top, across, down]);
    return canvas;
  }

  /** Draws part of the chart at the origin. @param {Pen} context @param {number} side pixels of a square @param {number[]} part its first column and row, and how many */
  draw(context, side, part) {
    const [left, top, across, down] = part;
    const { cells } = this.chart;
    // Squares are laid pixel by pixel, which takes a tenth of the time of a picture each.
    const image = context.createImageData(across * side, down * side);
    const pixels = new Uint32Array(image.data.buffer);
    /** @type {Uint32Array[]} */
    const sprites = [];
    for (let row = 0; row < down; row += 1) {
      for (let column = 0; column < across; column += 1) {
        const needle = cells[(top + row) * this.columns + left + column];
        const sprite = (sprites[needle] ??= this.sprite(needle, side));
        let to = (row * across * side + column) * side;
        for (let from = 0; from < sprite.length; to += (across - 1) * side) {
          for (let x = 0; x < side; x += 1) pixels[to++] = sprite[from++];
        }
      }
    }
    context.putImageData(image, 0, 0);
    if (this.show !== "stitched") this.grid(context, side, part);
    this.lines(context, side, part);
  }

  /** The pixels of a square as it is drawn for a needle. @param {number} needle @param {number} side */
  sprite(needle, side) {
    const key = `${this.show} ${this.front} ${this.grey} ${needle} ${side}`;
    const known = this.sprites.get(key);
    if (known) return known;
    if (this.sprites.size > 1500) this.sprites.clear();
    const context = /** @type {Pen} */ (canvasOf(side, side).getContext("2d", { willReadFrequently: true }));
    if (this.show === "stitched") this.stitch(context, needle, side);
    else this.square(context, needle, side);
    const pixels = new Uint32Array(context.getImageData(0, 0, side, side).data.buffer);
    this.sprites.set(key, pixels);
    return pixels;
  }

  /** @param {Pen} context @param {number} needle @param {number} side */
  square(context, needle, side) {
    const { needles, cloth } = this.chart.look;
    if (needle === BARE) {
      context.fillStyle = this.show === "colours" ? cloth.colour : PAPER;
      context.fillRect(0, 0, side, side);
      return;
    }
    const of = needles[needle];
    const back = this.isBack(needle);
    if (this.show === "symbols") context.fillStyle = PAPER;
    else if (this.show === "colours") context.fillStyle = css(back ? mixed(channels(of.colour), WHITE, 0.82) : channels(of.colour));
    else {
      const pale = this.grey ? greyTint(of.colour) : tint(of.colour);
      context.fillStyle = css(back ? mixed(pale, WHITE, 0.75) : pale);
    }
    context.fillRect(0, 0, side, side);
    if (this.show === "colours") return;
    context.fillStyle = back ? "#b5aea2" : css(BLACK);
    if (this.show === "printed" && of.printed?.length) drawOnPaper(context, of.printed[0], side);
    else {
      // The font's square is the cell: an em is a side.
      context.font = `${side}px brede-symbols`;
      context.textBaseline = "alphabetic";
      context.fillText(of.character, 0, side);
    }
    if (needle === this.front) {
      context.strokeStyle = "#8c1d2b";
      context.lineWidth = Math.max(1, side / 10);
      context.strokeRect(context.lineWidth / 2, context.lineWidth / 2, side - context.lineWidth, side - context.lineWidth);
    }
  }

  /** A cross of two legs, the upper from the upper left to the lower right, lit from the upper left. @param {Pen} context @param {number} needle @param {number} side */
  stitch(context, needle, side) {
    const { needles, cloth } = this.chart.look;
    const ground = channels(cloth.colour);
    const isDark = luminance(ground) < 0.2;
    context.fillStyle = cloth.colour;
    context.fillRect(0, 0, side, side);
    // Holes of the cloth at the corners.
    context.fillStyle = css(mixed(ground, isDark ? WHITE : BLACK, 0.22));
    const hole = Math.max(1, side * 0.14);
    for (const [x, y] of [[0, 0], [side, 0], [0, side], [side, side]]) {
      context.beginPath();
      context.arc(x, y, hole, 0, 2 * Math.PI);
      context.fill();
    }
    if (needle === BARE) return;
    const of = needles[needle];
    let thread = channels(of.colour);
    if (this.isBack(needle)) thread = mixed(thread, ground, 0.78);
    // From a distance a square is its thread and what is seen of the cloth.
    context.fillStyle = css(mixed(this.isBack(needle) ? thread : channels(of.seen), mixed(thread, BLACK, 0.25), 0.4));
    context.fillRect(side * 0.04, side * 0.04, side * 0.92, side * 0.92);
    const inset = side * 0.2;
    const leg = (/** @type {number[]} */ [x1, y1, x2, y2], /** @type {Rgb} */ colour, /** @type {number} */ width) => {
      context.strokeStyle = css(colour);
      context.lineWidth = width;
      context.lineCap = "round";
      context.beginPath();
      context.moveTo(x1, y1);
      context.lineTo(x2, y2);
      context.stroke();
    };
    const thick = side * 0.42;
    const rising = [inset, side - inset, side - inset, inset];
    const falling = [inset, inset, side - inset, side - inset];
    leg(rising, mixed(thread, BLACK, 0.3), thick);
    leg(rising, mixed(thread, BLACK, 0.12), thick * 0.62);
    if (of.stitch.includes("half")) return;
    leg(falling, mixed(thread, BLACK, 0.22), thick);
    leg(falling, thread, thick * 0.72);
    leg(falling.map((at, index) => at + (index % 2 ? -1 : 1) * side * 0.05), mixed(thread, WHITE, 0.2), thick * 0.18);
  }

  /** @param {Pen} context @param {number} side @param {number[]} part */
  grid(context, side, [left, top, across, down]) {
    const line = (/** @type {number} */ at, /** @type {number} */ number, /** @type {boolean} */ upright) => {
      const bold = number % 10 === 0;
      context.fillStyle = bold ? "#1d1a17" : "rgb(60 52 44 / 38%)";
      const width = bold ? Math.max(1.5, side / 12) : 1;
      if (upright) context.fillRect(at - width / 2, 0, width, down * side);
      else context.fillRect(0, at - width / 2, across * side, width);
    };
    for (let column = 0; column <= across; column += 1) line(column * side, left + column, true);
    for (let row = 0; row <= down; row += 1) line(row * side, top + row, false);
  }

  /** Backstitch. @param {Pen} context @param {number} side @param {number[]} part */
  lines(context, side, [left, top, across, down]) {
    within(context, [0, 0, across * side, down * side], () => {
      context.translate(-left * side, -top * side);
      for (const line of this.chart.look.lines) {
        const path = new Path2D();
        for (const [x, y] of line.points) path.lineTo((x / 1000) * side, (y / 1000) * side);
        if (line.closed) path.closePath();
        const rgb = channels(line.colour);
        context.lineJoin = "round";
        context.lineCap = "butt";
        context.setLineDash([]);
        context.strokeStyle = css(mixed(rgb, luminance(rgb) > 0.4 ? BLACK : WHITE, 0.7));
        context.lineWidth = Math.max(THIN[1], (line.weight + 0.14) * side);
        context.stroke(path);
        context.setLineDash(line.dashes.map((dash) => dash * side));
        context.strokeStyle = line.colour;
        context.lineWidth = Math.max(THIN[0], line.weight * side);
        context.stroke(path);
      }
    });
  }
}

/** @type {Promise<unknown> | null} */
let font = null;

/** Has the font of symbols, before anything is drawn with it. */
export function symbolFont() {
  const { fonts } = typeof document === "undefined" ? /** @type {any} */ (self) : document;
  font ??= new FontFace("brede-symbols", "url(/assets/symbols.ttf)").load().then((face) => fonts.add(face));
  return font;
}
