// A chart as brede sends it: figures, and a byte a square.

import { ask, framed } from "./ask.js";

/**
 * @typedef {{ code: string, name: string, character: string, colour: string, seen: string, strands: number,
 *   stitch: string, stitches: number, printed?: import("./onpaper.js").Shapes[] }} Needle
 * @typedef {{ label: string, code: string, colour: string, weight: number, dashes: number[],
 *   points: [number, number][], closed: boolean }} Line
 * @typedef {{ title: string, size: { columns: number, rows: number }, cloth: { count: string, colour: string },
 *   finished_mm: [number, number], stitches: number, threads: number, needles: Needle[], lines: Line[] }} Look
 * @typedef {{ look: Look, cells: Uint8Array, figures: any }} Chart
 * @typedef {[number, number, number]} Rgb
 */

/** No thread. */
export const BARE = 255;

/** @param {string} path @param {AbortSignal} [signal] @returns {Promise<Chart>} */
export async function chartOf(path, signal) {
  const { figures, rest } = await framed(await ask(path, { signal }));
  return { look: figures.look, cells: rest, figures };
}

/** @param {string} colour as #rrggbb @returns {Rgb} */
export function channels(colour) {
  const value = parseInt(colour.slice(1), 16);
  return [value >> 16, (value >> 8) & 255, value & 255];
}

/** Relative luminance (WCAG 2.2). @param {Rgb} rgb */
export function luminance(rgb) {
  const [r, g, b] = rgb.map((value) => {
    const share = value / 255;
    return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

/** @param {Rgb} one @param {Rgb} other @param {number} share of the other */
export function mixed(one, other, share) {
  return /** @type {Rgb} */ (one.map((value, at) => Math.round(value + (other[at] - value) * share)));
}

/** @param {Rgb} rgb */
export function css(rgb) {
  return `rgb(${rgb.join(" ")})`;
}
