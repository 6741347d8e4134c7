// A chart to look at: moved by a drag, made larger and smaller, with rulers that stay and one square that speaks.

import { BARE } from "./chart.js";
import { make, pen } from "./make.js";
import { Shelf } from "./shelf.js";
import { NEAR, Tiles } from "./tiles.js";
import { words } from "./words.js";

/** Sides of a square in CSS pixels, from the whole of a large chart to one that fills a thumb. */
const SIDES = [0.25, 0.5, 1, 1.5, 2, 3, 4, 6, 8, 10, 12, 16, 20, 24, 32, 40, 48, 64];

/** Rulers, in CSS pixels. */
const RULER = 30;

/** Cloth that is seen round a whole chart, in CSS pixels, so that none of it seems to be cut off. */
const MARGIN = 8;

export class View {
  /** @param {import("./chart.js").Chart} chart @param {(row: number, column: number, needle: number) => void} spoken is told where the focused square is */
  constructor(chart, spoken) {
    this.chart = chart;
    this.tiles = new Shelf(chart, () => this.moved());
    this.spoken = spoken;
    this.side = 1;
    /** The square at the left and top edge, with parts of one. */
    this.at = { x: 0, y: 0 };
    /** @type {{ row: number, column: number } | null} */
    this.focus = null;
    this.waiting = false;
    this.fitted = true;
    this.canvas = make("canvas", { class: "chart", tabIndex: 0, role: "application", "aria-label": words.chartSpoken });
    this.element = make("div", "chart-frame", this.canvas);
    this.context = pen(this.canvas);
    this.observer = new ResizeObserver(() => this.resized());
    this.observer.observe(this.element);
    // Rulers are drawn in the colours of the day or of the night.
    this.light = matchMedia("(prefers-color-scheme: dark)");
    this.light.onchange = () => this.moved();
    this.listen();
  }

  /** Another chart of the same size is shown, as the one before was. @param {import("./chart.js").Chart} chart */
  renew(chart) {
    const { show, front } = this.tiles;
    this.tiles.leave();
    this.chart = chart;
    this.tiles = Object.assign(new Shelf(chart, () => this.moved()), { show, front });
    this.moved();
  }

  leave() {
    this.observer.disconnect();
    this.tiles.leave();
    this.light.onchange = null;
  }

  get width() {
    return this.element.clientWidth;
  }

  get height() {
    return this.element.clientHeight;
  }

  /** Squares across and down that are seen, with parts of some. */
  get seen() {
    return [this.width, this.height].map((side) => (side - RULER) / this.side);
  }

  resized() {
    const scale = devicePixelRatio || 1;
    const [width, height] = [Math.round(this.width * scale), Math.round(this.height * scale)];
    if (!width || !height) return;
    this.canvas.width = width;
    this.canvas.height = height;
    if (this.fitted) this.fit();
    this.moved();
  }

  /** Squares that are drawn as tiles have whole pixels. @param {number} side @param {(pixels: number) => number} whole */
  setSide(side, whole = Math.round) {
    const scale = this.canvas.width / Math.max(1, this.width);
    const pixels = side * scale;
    this.side = pixels >= NEAR ? whole(pixels) / scale : side;
  }

  fit() {
    const across = (this.width - RULER - 2 * MARGIN) / this.tiles.columns;
    const down = (this.height - RULER - 2 * MARGIN) / this.tiles.rows;
    this.setSide(Math.max(SIDES[0], Math.min(across, down, 24)), Math.floor);
    this.at = { x: 0, y: 0 };
    this.fitted = true;
    this.moved();
  }

  /** @param {1 | -1} way @param {number} [x] @param {number} [y] the place that stays, in CSS pixels */
  zoom(way, x = this.width / 2, y = this.height / 2) {
    const next = way > 0 ? SIDES.find((side) => side > this.side * 1.01) : SIDES.findLast((side) => side < this.side * 0.99);
    if (next) this.zoomTo(next, x, y);
  }

  /** @param {number} side @param {number} x @param {number} y */
  zoomTo(side, x, y) {
    const before = this.side;
    this.setSide(Math.max(SIDES[0], Math.min(side, SIDES[SIDES.length - 1])));
    const [left, top] = [x - RULER, y - RULER];
    this.at.x += left / before - left / this.side;
    this.at.y += top / before - top / this.side;
    this.fitted = false;
    this.moved();
  }

  /** Shows a square in the middle and speaks of it. @param {number} row @param {number} column both from 1 */
  go(row, column) {
    const focus = this.focusOn(row, column);
    if (this.side < 12) this.setSide(16);
    this.fitted = false;
    const [across, down] = this.seen;
    this.at = { x: focus.column - across / 2, y: focus.row - down / 2 };
    this.speak();
    this.moved();
  }

  /** The nearest square that there is. @param {number} row @param {number} column both from 1 */
  focusOn(row, column) {
    return (this.focus = { row: Math.max(1, Math.min(row, this.tiles.rows)), column: Math.max(1, Math.min(column, this.tiles.columns)) });
  }

  /** Shows part of the chart as large as there is room, and speaks of its first square. @param {[number, number]} columns @param {[number, number]} rows from 0, and one past the last */
  part(columns, rows) {
    const [across, down] = [columns[1] - columns[0], rows[1] - rows[0]];
    const fit = Math.min((this.width - RULER) / across, (this.height - RULER) / down);
    this.setSide(Math.max(SIDES[0], Math.min(fit, SIDES[SIDES.length - 1])), Math.floor);
    this.fitted = false;
    const seen = this.seen;
    this.at = { x: columns[0] - (seen[0] - across) / 2, y: rows[0] - (seen[1] - down) / 2 };
    this.focusOn(rows[0] + 1, columns[0] + 1);
    this.speak();
    this.moved();
  }

  speak() {
    if (!this.focus) return;
    const { row, column } = this.focus;
    this.spoken(row, column, this.chart.cells[(row - 1) * this.tiles.columns + column - 1]);
  }

  /** Keeps the chart in sight and draws it in the next frame. */
  moved() {
    const [across, down] = this.seen;
    const hold = (/** @type {number} */ at, /** @type {number} */ seen, /** @type {number} */ all) =>
      seen >= all ? (all - seen) / 2 : Math.max(-2, Math.min(at, all - seen + 2));
    this.at.x = hold(this.at.x, across, this.tiles.columns);
    this.at.y = hold(this.at.y, down, this.tiles.rows);
    if (this.waiting) return;
    this.waiting = true;
    requestAnimationFrame(() => {
      this.waiting = false;
      this.draw();
    });
  }

  /** Draws what is there. Where a tile is wanting, the far picture stands until it has come. */
  draw() {
    const scale = this.canvas.width / Math.max(1, this.width);
    const { context } = this;
    const style = getComputedStyle(this.element);
    context.setTransform(1, 0, 0, 1, 0, 0);
    context.fillStyle = style.getPropertyValue("--ground");
    context.fillRect(0, 0, this.canvas.width, this.canvas.height);
    const exact = this.side * scale >= NEAR - 0.01 ? Math.round(this.side * scale) : this.side * scale;
    const side = Math.max(1, Math.round(exact));
    const edge = RULER * scale;
    const left = Math.round(edge - this.at.x * exact);
    const top = Math.round(edge - this.at.y * exact);
    if (exact < NEAR) this.far(left, top, exact, [0, 0, this.tiles.columns, this.tiles.rows]);
    else this.near(left, top, side);
    if (this.focus && exact >= 3) {
      context.lineWidth = Math.max(3, 3 * scale);
      context.strokeStyle = style.getPropertyValue("--lead");
      context.strokeRect(left + (this.focus.column - 1) * exact, top + (this.focus.row - 1) * exact, exact, exact);
    }
    this.rulers(scale, left, top, exact, style);
  }

  /** Draws the squares of a part that are seen, from the far picture. @param {number} left @param {number} top @param {number} side @param {number[]} part its first column and row, and one past its last */
  far(left, top, side, [from, above, to, below]) {
    const picture = this.tiles.far();
    if (!picture) return;
    const [x, y] = [Math.max(from, Math.floor(-left / side)), Math.max(above, Math.floor(-top / side))];
    const [w, h] = [Math.min(to, Math.ceil((this.canvas.width - left) / side)) - x, Math.min(below, Math.ceil((this.canvas.height - top) / side)) - y];
    // It may have several pixels a square.
    const of = picture.width / this.tiles.columns;
    this.context.imageSmoothingEnabled = side < of;
    if (w > 0 && h > 0) this.context.drawImage(picture, x * of, y * of, w * of, h * of, left + x * side, top + y * side, w * side, h * side);
  }

  /** Draws tiles, those in the middle first. @param {number} left @param {number} top @param {number} side */
  near(left, top, side) {
    const squares = Tiles.squares(side);
    const step = squares * side;
    const { columns, rows } = this.tiles;
    const [first, last] = [Math.max(0, Math.floor(-left / step)), Math.min(Math.ceil(columns / squares) - 1, Math.floor((this.canvas.width - left) / step))];
    const [upper, lower] = [Math.max(0, Math.floor(-top / step)), Math.min(Math.ceil(rows / squares) - 1, Math.floor((this.canvas.height - top) / step))];
    /** @type {[number, number][]} */
    const wanting = [];
    for (let y = upper; y <= lower; y += 1) {
      for (let x = first; x <= last; x += 1) {
        const tile = this.tiles.kept(side, x, y);
        if (tile) this.context.drawImage(tile, left + x * step, top + y * step);
        else {
          wanting.push([x, y]);
          this.far(left, top, side, [x * squares, y * squares, Math.min(columns, (x + 1) * squares), Math.min(rows, (y + 1) * squares)]);
        }
      }
    }
    const off = (/** @type {[number, number]} */ [x, y]) => Math.hypot(x - (first + last) / 2, y - (upper + lower) / 2);
    this.tiles.want(side, wanting.sort((one, other) => off(one) - off(other)), (last - first + 1) * (lower - upper + 1));
  }

  /** @param {number} scale @param {number} left @param {number} top @param {number} side @param {CSSStyleDeclaration} style */
  rulers(scale, left, top, side, style) {
    const { context } = this;
    const edge = RULER * scale;
    context.fillStyle = style.getPropertyValue("--paper");
    context.fillRect(0, 0, this.canvas.width, edge);
    context.fillRect(0, 0, edge, this.canvas.height);
    context.fillStyle = style.getPropertyValue("--ink");
    context.font = `${15 * scale}px brede, sans-serif`;
    context.textBaseline = "middle";
    context.textAlign = "center";
    // Numbers stand apart by two of their widths.
    const step = [10, 20, 50, 100, 200, 500].find((by) => by * side > 46 * scale) ?? 1000;
    const tick = 10 * side > 8 * scale ? 10 : step;
    const width = Math.max(1, Math.round(scale));
    const { columns, rows } = this.tiles;
    const sides = /** @type {[number, number, number, 1 | -1][]} */ ([[columns, left, this.canvas.width, 1], [rows, top, this.canvas.height, -1]]);
    for (const [count, from, room, way] of sides) {
      context.save();
      // Numbers of rows are read from below.
      if (way < 0) context.rotate(-Math.PI / 2);
      for (let number = tick; number <= count; number += tick) {
        const at = from + number * side;
        if (at < edge || at > room + edge) continue;
        const long = number % step === 0;
        const length = (long ? 7 : 4) * scale;
        context.fillRect(way * at - width / 2, edge - length, width, length);
        if (!long) continue;
        // Where the end of the chart is seen, its last number is not cut off by the edge.
        const most = from + count * side > room ? at : room - scale - context.measureText(String(number)).width / 2;
        context.fillText(String(number), way * Math.min(at, most), edge / 2 - 3 * scale);
      }
      context.restore();
    }
    context.fillStyle = style.getPropertyValue("--paper");
    context.fillRect(0, 0, edge, edge);
    context.fillStyle = style.getPropertyValue("--edge");
    context.fillRect(edge - width, 0, width, this.canvas.height);
    context.fillRect(0, edge - width, this.canvas.width, width);
  }

  /** The square under a place, from 1. @param {number} x @param {number} y */
  squareAt(x, y) {
    return { row: Math.floor(this.at.y + (y - RULER) / this.side) + 1, column: Math.floor(this.at.x + (x - RULER) / this.side) + 1 };
  }

  listen() {
    /** @type {Map<number, { x: number, y: number }>} */
    const fingers = new Map();
    let far = 0;
    let moved = 0;
    let turned = 0;
    const place = (/** @type {PointerEvent | WheelEvent} */ event) => {
      const box = this.canvas.getBoundingClientRect();
      return { x: event.clientX - box.left, y: event.clientY - box.top };
    };
    this.canvas.onpointerdown = (event) => {
      this.canvas.setPointerCapture(event.pointerId);
      fingers.set(event.pointerId, place(event));
      moved = 0;
      far = 0;
    };
    this.canvas.onpointermove = (event) => {
      const before = fingers.get(event.pointerId);
      if (!before) return;
      const now = place(event);
      const [one, other] = [...fingers.values()];
      if (fingers.size === 1) {
        this.at.x -= (now.x - before.x) / this.side;
        this.at.y -= (now.y - before.y) / this.side;
        moved += Math.abs(now.x - before.x) + Math.abs(now.y - before.y);
        if (moved > 4) this.fitted = false;
      } else if (other) {
        const apart = Math.hypot(one.x - other.x, one.y - other.y);
        const before = this.side;
        if (far > 0) this.zoomTo((this.side * apart) / far, (one.x + other.x) / 2, (one.y + other.y) / 2);
        if (far === 0 || this.side !== before) far = apart;
        moved = 99;
      }
      fingers.set(event.pointerId, now);
      this.moved();
    };
    const up = (/** @type {PointerEvent} */ event) => {
      const was = fingers.get(event.pointerId);
      fingers.delete(event.pointerId);
      far = 0;
      if (!was || moved > 6 || event.type === "pointercancel") return;
      const { row, column } = this.squareAt(was.x, was.y);
      if (row < 1 || column < 1 || row > this.tiles.rows || column > this.tiles.columns) return;
      this.focus = { row, column };
      this.speak();
      this.moved();
    };
    this.canvas.onpointerup = this.canvas.onpointercancel = up;
    this.canvas.addEventListener(
      "wheel",
      (event) => {
        event.preventDefault();
        const { x, y } = place(event);
        // Small turns add up until a square is a pixel larger or smaller.
        turned = Math.abs(turned) > 0 && Math.sign(turned) === Math.sign(event.deltaY) ? turned + event.deltaY : event.deltaY;
        const before = this.side;
        this.zoomTo(this.side * 2 ** (-turned / 400), x, y);
        if (this.side !== before) turned = 0;
      },
      { passive: false },
    );
    this.canvas.onkeydown = (event) => {
      const by = event.shiftKey ? 10 : 1;
      const ways = /** @type {Record<string, [number, number]>} */ ({ ArrowUp: [-by, 0], ArrowDown: [by, 0], ArrowLeft: [0, -by], ArrowRight: [0, by] });
      if (ways[event.key]) {
        const { row, column } = this.focus ?? { row: 1, column: 1 };
        const [down, right] = this.focus ? ways[event.key] : [0, 0];
        this.step(row + down, column + right);
      } else if (event.key === "+" || event.key === "=") this.zoom(1);
      else if (event.key === "-") this.zoom(-1);
      else if (event.key === "Home") this.step(this.focus?.row ?? 1, 1);
      else if (event.key === "End") this.step(this.focus?.row ?? 1, this.tiles.columns);
      else return;
      event.preventDefault();
    };
  }

  /** Goes to a square, and moves the chart only where it would be out of sight. @param {number} row @param {number} column */
  step(row, column) {
    const focus = this.focusOn(row, column);
    const [across, down] = this.seen;
    const into = (/** @type {number} */ at, /** @type {number} */ number, /** @type {number} */ seen) =>
      Math.max(number + 1 - seen, Math.min(at, number - 2));
    this.at.x = into(this.at.x, focus.column, across);
    this.at.y = into(this.at.y, focus.row, down);
    this.speak();
    this.moved();
  }
}

/** What a square is, in words. @param {import("./chart.js").Look} look @param {number} needle */
export function threadInWords(look, needle) {
  if (needle === BARE) return words.bare;
  const { code, name } = look.needles[needle];
  return `${code} ${name}`;
}
