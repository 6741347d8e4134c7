// How soon Begin answers, as a report and not as a test: `node quick.mjs`, with BREDE naming a binary that was built for
// people, PHOTO a photo (else the rock pool). At 140 by 200 squares each kind of change is made several times in chromium; told are the
// middle and the longest time until another picture is painted and until the chart that would be kept is, in milliseconds.

import os from "node:os";
import path from "node:path";
import { Brede, browsers, Hand, samples } from "./hand.mjs";

const TIMES = Number(process.env.TIMES ?? 5);

/** Squares across and down. */
const SIZE = [140, 200];

/**
 * In the page: makes a change as a hand makes it, and watches each frame until the chart is there. A picture is another one
 * where a small copy of it is.
 */
const changed = ({ how, selector, value }) =>
  new Promise((resolve, reject) => {
    const canvas = document.querySelector(".beside-picture");
    const small = new OffscreenCanvas(48, 48).getContext("2d", { willReadFrequently: true });
    const seen = () => {
      small.drawImage(canvas, 0, 0, 48, 48);
      return small.getImageData(0, 0, 48, 48).data.join();
    };
    const before = seen();
    const began = performance.now();
    let first = 0;
    const element = document.querySelector(selector);
    if (!element) return reject(new Error(`no ${selector}`));
    if (how === "press") element.click();
    else if (how === "key") element.dispatchEvent(new KeyboardEvent("keydown", { key: value, bubbles: true }));
    else {
      element.value = value;
      element.dispatchEvent(new Event("input", { bubbles: true }));
    }
    const look = () => {
      const now = performance.now();
      if (!first && seen() !== before) first = now - began;
      if (now - began > 20 && !document.querySelector(".look[aria-busy=true]")) resolve([first || now - began, now - began]);
      else requestAnimationFrame(look);
    };
    requestAnimationFrame(look);
  });

const radio = (name, at) => `input[name="${name}"][value="${at}"]`;

/** Kinds of changes: two ways each, so that every one changes something. */
const kinds = {
  "part of the photo": ["ArrowLeft", "ArrowRight"].map((value) => ({ how: "key", selector: ".part", value })),
  "colour of the cloth": ["#1f2a4d", "#f4ecd8"].map((value) => ({ how: "press", selector: radio("cloth", value) })),
  "stitches to the inch": ["18", "14"].map((value) => ({ how: "press", selector: radio("count", value) })),
  "squares across": ["130", "140"].map((value) => ({ how: "type", selector: "#across", value })),
  "how many threads": ["40", "24"].map((value) => ({ how: "type", selector: "#threads", value })),
  "single stitches": ["none", "few"].map((value) => ({ how: "press", selector: radio("quiet", value) })),
  "from how far": ["4", "1.5"].map((value) => ({ how: "press", selector: radio("far", value) })),
};

const brede = await Brede.open();
const browser = await browsers.chromium();
try {
  const hand = await Hand.on(browser, "chromium");
  await hand.begins(brede.address, process.env.PHOTO);
  await hand.writes("Squares across", String(SIZE[0]));
  await hand.charted();
  // A part of the shape of 140 by 200, with room for it to be moved.
  await hand.page.evaluate(async (shape) => {
    const { Frame } = await import("/assets/frame.js");
    const { set } = Frame.prototype;
    const image = document.querySelector(".photo-pane img");
    const of = image.naturalWidth / image.naturalHeight;
    const high = Math.min(0.9, (0.9 * of) / shape);
    Frame.prototype.set = function once() {
      Frame.prototype.set = set;
      return set.call(this, [0.05, 0.05, (high * shape) / of, high]);
    };
    document.querySelector(".part").dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowLeft", bubbles: true }));
  }, SIZE[0] / SIZE[1]);
  await hand.charted();
  await hand.press("Stitched");
  console.log(await hand.page.$eval(".question:nth-of-type(3) .quiet", (said) => said.textContent));
  const card = path.join(samples, "tin-of-threads.csv");
  const middle = (all) => all.toSorted((one, other) => one - other)[Math.floor(all.length / 2)];
  const report = (name, took) => {
    const [first, last] = [0, 1].map((at) => took.map((one) => one[at]));
    const said = (all) => `${middle(all).toFixed(0)} (${Math.max(...all).toFixed(0)})`;
    console.log(`${name.padEnd(24)} first ${said(first).padEnd(14)} chart ${said(last).padEnd(14)} load ${os.loadavg()[0].toFixed(1)}`);
  };
  for (const [name, ways] of Object.entries(kinds)) {
    const took = [];
    for (let at = 0; at < TIMES * 2; at += 1) {
      took.push(await hand.page.evaluate(changed, ways[at % 2]));
      await new Promise((resolve) => setTimeout(resolve, 400));
    }
    report(name, took);
  }
  const took = [];
  for (let at = 0; at < TIMES; at += 1) {
    const charted = hand.page.evaluate(() => new Promise((resolve) => {
      const look = document.querySelector(".look");
      new MutationObserver(() => look.hasAttribute("aria-busy") || resolve()).observe(look, { attributes: true });
    }));
    const began = performance.now();
    await hand.brings("input[accept*=csv]", card);
    await charted;
    took.push([performance.now() - began, performance.now() - began]);
    await hand.press("Use the invented card");
    await hand.charted();
  }
  report("shade card", took);
} finally {
  await browser.close();
  brede.end();
}
