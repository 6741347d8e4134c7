// What the page weighs and whether it stays quick, as a report and not as a test: `node weight.mjs`, with BREDE naming a
// binary that was built for people. How many bytes the first view of a piece takes; how soon brede is up and what it holds
// then; and a chart of 2,000 by 2,000 squares moved and made larger in chromium, by chromium's own trace.

import fs from "node:fs";
import path from "node:path";
import { performance } from "node:perf_hooks";
import zlib from "node:zlib";
import { Brede, browsers, Hand, run, samples } from "./hand.mjs";

const SIDE = Number(process.env.SIDE ?? 2000);

/** Frames that took longer than this on the main thread are told of, in milliseconds (issue 16). */
const LONG = 8;

const pause = (milliseconds) => new Promise((resolve) => setTimeout(resolve, milliseconds));
const report = (what, value) => console.log(`${what.padEnd(58)} ${value}`);

/** Kilobytes of a process, as Linux says them. */
const held = (process, file, of) => Number(new RegExp(`^${of}:\\s+(\\d+)`, "m").exec(fs.readFileSync(`/proc/${process}/${file}`, "utf8"))?.[1]);
const megabytes = (kilobytes) => `${(kilobytes / 1024).toFixed(1)} MB`;

/** A PNG of the colours of a card, a pixel a square: patches with grain, so that no tile is like another (PNG, 2nd edition, W3C). */
function picture(side, colours) {
  const rows = Buffer.alloc(side * (1 + side * 3));
  let seed = 1;
  const draw = () => (seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0) / 2 ** 32;
  for (let y = 0; y < side; y += 1) {
    for (let x = 0; x < side; x += 1) {
      const patch = (x >> 5) * 7 + (y >> 5) * 3 + (draw() < 0.3 ? Math.floor(draw() * colours.length) : 0);
      Buffer.from(colours[patch % colours.length], "hex").copy(rows, y * (1 + side * 3) + 1 + x * 3);
    }
  }
  const chunk = (name, data) => {
    const body = Buffer.concat([Buffer.from(name, "latin1"), data]);
    const [length, sum] = [Buffer.alloc(4), Buffer.alloc(4)];
    length.writeUInt32BE(data.length);
    sum.writeUInt32BE(zlib.crc32(body));
    return Buffer.concat([length, body, sum]);
  };
  const head = Buffer.alloc(13);
  head.writeUInt32BE(side, 0);
  head.writeUInt32BE(side, 4);
  head.set([8, 2, 0, 0, 0], 8);
  const signature = Buffer.from([137, 80, 78, 71, 13, 10, 26, 10]);
  return Buffer.concat([signature, chunk("IHDR", head), chunk("IDAT", zlib.deflateSync(rows)), chunk("IEND", Buffer.alloc(0))]);
}

/** Tasks of the main thread of the page, from a trace, by the processor time that they took: what other programs do meanwhile does not count. */
function long(trace) {
  const { traceEvents } = JSON.parse(trace);
  const main = traceEvents.filter((event) => event.name === "thread_name" && event.args.name === "CrRendererMain").map((event) => `${event.pid} ${event.tid}`);
  const there = traceEvents.filter((event) => event.tdur && main.includes(`${event.pid} ${event.tid}`));
  const isTask = (event) => event.name === "RunTask";
  const tasks = there.filter(isTask);
  const took = (event) => event.tdur / 1000;
  const over = tasks.filter((task) => took(task) > LONG);
  // What a long task was at: what took most within it.
  const at = over.map((task) => {
    const within = there.filter((event) => !event.name.endsWith("RunTask") && event.tid === task.tid && event.ts >= task.ts && event.ts < task.ts + task.dur && took(event) > 1);
    const most = within.toSorted((one, other) => took(other) - took(one)).slice(0, 4);
    return `${took(task).toFixed(1)} ms: ${most.map((event) => `${event.name} ${event.args?.data?.functionName ?? ""} ${took(event).toFixed(1)}`).join(", ")}`;
  });
  return { tasks: tasks.length, longest: Math.max(...tasks.map(took)), over: over.length, at };
}

const began = performance.now();
const brede = await Brede.open();
await fetch(brede.place);
report("brede is up and answers after", `${Math.round(performance.now() - began)} ms`);
await pause(1500);
report("it holds, idle", megabytes(held(brede.child.pid, "status", "VmRSS")));

const card = path.join(samples, "tin-of-threads.csv");
const folder = path.join(brede.basket, "made");
run("make", path.join(samples, "rock-pool.jpg"), "--columns", "140", "--rows", "200", "--colours", "60", "--shades", card, "--out", folder);
run("keep", path.join(folder, "rock-pool.chart.json"), "--basket", brede.basket);
const colours = fs.readFileSync(card, "utf8").match(/#[0-9a-f]{6}/g).slice(0, 100).map((colour) => colour.slice(1));
fs.writeFileSync(path.join(folder, "large.png"), picture(SIDE, colours));
run("make", path.join(folder, "large.png"), "--exact", "--shades", card, "--out", folder);
run("keep", path.join(folder, "large.chart.json"), "--basket", brede.basket);
const pieces = JSON.parse(run("pieces", "--json", "--basket", brede.basket)).pieces;
const id = (name) => pieces.find((piece) => piece.name === name).id;

const browser = await browsers.chromium();
try {
  const hand = await Hand.on(browser, "chromium");
  await hand.goto(brede.address);
  await hand.sees("large", { in: ".piece" });

  // A new window with nothing kept from before: what one sees first of a piece.
  const { page } = hand;
  const session = await page.createCDPSession();
  await session.send("Network.enable");
  await session.send("Network.setCacheDisabled", { cacheDisabled: true });
  let wire = 0;
  session.on("Network.loadingFinished", ({ encodedDataLength }) => (wire += encodedDataLength));
  await page.goto("about:blank");
  await hand.goto(`${brede.place}#/piece/${id("rock-pool")}`);
  await hand.sees("140 × 200 squares");
  await pause(1000);
  report("first view of a piece of 140 by 200, over the wire", `${(wire / 1000).toFixed(0)} kB`);

  const traced = async (name, does) => {
    await page.tracing.start({ categories: ["toplevel", "devtools.timeline", "disabled-by-default-devtools.timeline"] });
    await does();
    const found = long(Buffer.from(await page.tracing.stop()).toString());
    report(`${name}: tasks over ${LONG} ms, the longest`, `${found.over} of ${found.tasks}, ${found.longest.toFixed(1)} ms`);
    found.at.forEach((task) => console.log(`  ${task}`));
  };
  await traced(`${SIDE} by ${SIDE} opens`, async () => {
    await hand.goto(`${brede.place}#/piece/${id("large")}`);
    await hand.sees(`${SIDE} × ${SIDE} squares`);
    await pause(2000);
  });
  // How many tiles are drawn in a frame, counted where they are drawn.
  await page.evaluate(async () => {
    const { Tiles } = await import("/assets/tiles.js");
    const { tile } = Tiles.prototype;
    globalThis.drawn = [0];
    Tiles.prototype.tile = function counted(...where) {
      globalThis.drawn[globalThis.drawn.length - 1] += 1;
      return tile.apply(this, where);
    };
    const next = () => {
      globalThis.drawn.push(0);
      requestAnimationFrame(next);
    };
    next();
  });
  const box = await hand.box("canvas.chart");
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  await page.mouse.move(x, y);
  const drag = async () => {
    await page.mouse.down();
    for (let at = 1; at <= 40; at += 1) {
      await page.mouse.move(x - at * 9, y - at * 5);
      await pause(12);
    }
    await page.mouse.up();
    await page.mouse.move(x, y);
    await pause(400);
  };
  const larger = async (times) => {
    for (let at = 0; at < times; at += 1) {
      await page.mouse.wheel({ deltaY: -100 });
      await pause(60);
    }
    await pause(400);
  };
  await traced("far, dragged and made larger", async () => {
    await larger(8);
    await drag();
  });
  await traced("squares of some pixels, the same", async () => {
    await larger(8);
    await drag();
    await drag();
  });
  await traced("squares with symbols, the same", async () => {
    await larger(6);
    await drag();
    await drag();
  });
  await traced("stitched, the same", async () => {
    await hand.press("Stitched");
    await drag();
    await drag();
  });
  await traced("one thread brought forward", async () => {
    await hand.press("Both");
    await hand.press(".thread");
    await drag();
    await hand.press("Whole chart");
    await pause(500);
  });
  report("most tiles drawn in a frame on the main thread", await page.evaluate(() => Math.max(...globalThis.drawn)));
  const { processInfo } = await (await browser.target().createCDPSession()).send("SystemInfo.getProcessInfo");
  const renderers = processInfo.filter((process) => process.type === "renderer").map((process) => held(process.id, "smaps_rollup", "Pss"));
  report("the page holds (the largest renderer's share of memory)", megabytes(Math.max(...renderers)));
  report("brede holds after that", megabytes(held(brede.child.pid, "status", "VmRSS")));
} finally {
  await browser.close();
  brede.end();
}
