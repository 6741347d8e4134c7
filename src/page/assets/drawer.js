// Draws tiles away from the page, so that it answers a finger while they are drawn.

import { symbolFont, Tiles } from "./tiles.js";

/** @type {Tiles} */
let tiles;

/** Is sent a chart first; then asked for tiles, each by the side of a square and its place, and for the far picture, which has no side. @param {MessageEvent} event */
onmessage = async ({ data }) => {
  if (data.chart) {
    tiles = new Tiles(data.chart);
    return;
  }
  await symbolFont();
  tiles.show = data.show;
  tiles.front = data.front;
  const canvas = /** @type {any} */ (data.side ? tiles.tile(data.side, data.x, data.y) : tiles.farWithLines());
  const picture = canvas.transferToImageBitmap();
  /** @type {any} */ (self).postMessage({ key: data.key, picture }, [picture]);
};
