// Symbols as a printed chart has them: outlines in a square of 1000 by 1000.

import { channels, luminance } from "./chart.js";
import { drawn } from "./make.js";

/** @typedef {{ path: string, stroke?: number }[]} Shapes */

/** A symbol as it stands on the paper, on the colour that lies under it there. @param {Shapes} shapes @param {string | null} ground @param {string} [spoken] */
export function onPaper(shapes, ground, spoken) {
  // The ink that is read on that.
  const ink = ground && luminance(channels(ground)) < 0.18 ? "#ffffff" : "#000000";
  const lines = shapes.map(({ path, stroke }) => drawn("path", { d: path, ...(stroke ? { fill: "none", stroke: ink, "stroke-width": Math.max(stroke, 24) } : { fill: ink }) }));
  const said = spoken ? { role: "img", "aria-label": spoken } : { "aria-hidden": true };
  return drawn("svg", { viewBox: "0 0 1000 1000", class: "on-paper", ...said }, drawn("rect", { width: 1000, height: 1000, fill: ground ?? "#ffffff" }), ...lines);
}

/** Draws a symbol into a square at the origin, in the colour that is set. @param {CanvasRenderingContext2D} context @param {Shapes} shapes @param {number} side */
export function drawOnPaper(context, shapes, side) {
  context.save();
  context.scale(side / 1000, side / 1000);
  context.strokeStyle = context.fillStyle;
  for (const { path, stroke } of shapes) {
    const outline = new Path2D(path);
    if (stroke) {
      context.lineWidth = Math.max(stroke, 60);
      context.stroke(outline);
    } else context.fill(outline);
  }
  context.restore();
}
