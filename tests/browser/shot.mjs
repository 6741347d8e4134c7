// The picture of README: `node shot.mjs FILE`, with BREDE naming the binary. Made of the rock pool, in chromium.

import path from "node:path";
import { Brede, browsers, Hand, samples } from "./hand.mjs";

const brede = await Brede.open();
const browser = await browsers.chromium();
try {
  const hand = await Hand.on(browser, "chromium");
  await hand.begins(brede.address);
  await hand.press("cm");
  await hand.brings("input[accept*=csv]", path.join(samples, "tin-of-threads.csv"));
  await hand.sees("tin-of-threads, ");
  await hand.charted();
  await hand.press("Stitched");
  await hand.page.evaluate(() => scrollTo(0, 0));
  await hand.page.mouse.move(5, 5);
  await new Promise((resolve) => setTimeout(resolve, 1000));
  await hand.page.screenshot({ path: process.argv[2] });
} finally {
  await browser.close();
  brede.end();
}
