// Symbols as a printed chart has them: outlines in a square of 1000 by 1000.

import { channels, luminance } from "./chart.js";

/** @typedef {{ path: string, stroke?: number }[]} Shapes */

const SPACE = "http://www.w3.org/2000/svg";

/** The ink that is read on a ground. @param {string | null} ground */
function inkOn(ground) {
  return ground && luminance(channels(ground)) < 0.18 ? "#ffffff" : "#000000";
}

/**
 * A symbol as it stands on the paper, on the colour that lies under it there.
 * @param {Shapes} shapes @param {string | null} ground @param {string} [spoken]
 */
export function onPaper(shapes, ground, spoken) {
  const svg = document.createElementNS(SPACE, "svg");
  svg.setAttribute("viewBox", "0 0 1000 1000");
  svg.setAttribute("class", "on-paper");
  if (spoken) {
    svg.setAttribute("role", "img");
    svg.setAttribute("aria-label", spoken);
  } else svg.setAttribute("aria-hidden", "true");
  const square = document.createElementNS(SPACE, "rect");
  square.setAttribute("width", "1000");
  square.setAttribute("height", "1000");
  square.setAttribute("fill", ground ?? "#ffffff");
  svg.append(square);
  for (const { path, stroke } of shapes) {
    const line = document.createElementNS(SPACE, "path");
    line.setAttribute("d", path);
    line.setAttribute("fill", stroke ? "none" : inkOn(ground));
    if (stroke) {
      line.setAttribute("stroke", inkOn(ground));
      line.setAttribute("stroke-width", String(Math.max(stroke, 24)));
    }
    svg.append(line);
  }
  return svg;
}

/**
 * Draws a symbol into a square at the origin, in the colour that is set.
 * @param {CanvasRenderingContext2D} context @param {Shapes} shapes @param {number} side
 */
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
