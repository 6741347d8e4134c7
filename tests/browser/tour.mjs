// The page in a real browser, from a photo to the pages: `npm run tour`, with BREDE naming the binary and CHROMIUM the
// browser (else /usr/bin/chromium). Pictures of every screen are written into SHOTS, where that is named.

import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import fs from "node:fs";
import os from "node:os";
import path from "node:path";
import test from "node:test";
import { fileURLToPath } from "node:url";
import { chromium } from "playwright-core";

const here = path.dirname(fileURLToPath(import.meta.url));
const samples = path.join(here, "../../samples-own");
const axe = fs.readFileSync(path.join(here, "node_modules/axe-core/axe.min.js"), "utf8");
const rules = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"];
/** A debug build on a busy machine makes a chart in a minute. */
const PATIENCE = 300_000;

/** Opens brede on an empty workbasket. */
async function brede() {
  const basket = fs.mkdtempSync(path.join(os.tmpdir(), "brede-"));
  const child = spawn(process.env.BREDE ?? "brede", ["open", "--no-browser", "--json", "--basket", basket]);
  const line = await new Promise((resolve, reject) => {
    child.stdout.once("data", (data) => resolve(String(data)));
    child.once("exit", (code) => reject(new Error(`brede ended with ${code}`)));
  });
  return { child, basket, address: JSON.parse(line).address };
}

/** What is wrong with a screen as it is. */
async function faults(page, name) {
  const found = await page.evaluate(`${axe}; axe.run({ runOnly: ${JSON.stringify(rules)} })
    .then((result) => result.violations.map((fault) => fault.id + " " + fault.nodes.map((node) => node.target.join(" ")).join(", ")))`);
  const [small, wide] = await page.evaluate(() => {
    // WCAG 2.2, 2.5.8: 24 by 24 CSS pixels.
    const targets = [...document.querySelectorAll("button, a, input, summary")]
      .filter((element) => element.checkVisibility() && !element.classList.contains("unseen"))
      .map((element) => [element, element.getBoundingClientRect()])
      .filter(([, box]) => box.width && (box.width < 24 || box.height < 24));
    return [targets.map(([element]) => `${element.tagName} ${element.textContent}`), document.documentElement.scrollWidth - innerWidth];
  });
  return [...found, ...small.map((target) => `small: ${target}`), ...(wide > 0 ? [`${wide} pixels too wide`] : [])].map((fault) => `${name}: ${fault}`);
}

/** Looks at a screen in both lights, on a desk, on a telephone and at 360 pixels. */
async function judge(page, name) {
  const all = [];
  for (const [width, height] of [[1280, 800], [390, 844], [360, 640]]) {
    for (const colorScheme of ["light", "dark"]) {
      await page.setViewportSize({ width, height });
      await page.emulateMedia({ colorScheme });
      await page.waitForTimeout(300);
      all.push(...(await faults(page, `${name} ${width} ${colorScheme}`)));
      if (process.env.SHOTS) await page.screenshot({ path: path.join(process.env.SHOTS, `${name}-${width}-${colorScheme}.png`) });
    }
  }
  await page.setViewportSize({ width: 1280, height: 800 });
  assert.deepEqual(all, []);
}

/** What a new chart comes to is said once it is there. */
const charted = (page) =>
  page.waitForFunction(() => /to have ready/.test(document.querySelector(".figures")?.textContent ?? ""), null, { timeout: PATIENCE });

test("from a photo to checked pages", { timeout: 4 * PATIENCE }, async (t) => {
  const { child, basket, address } = await brede();
  const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: ["--no-sandbox", "--disable-gpu"] });
  t.after(async () => {
    await browser.close();
    child.kill();
    fs.rmSync(basket, { recursive: true, force: true });
  });
  const context = await browser.newContext({ viewport: { width: 1280, height: 800 }, locale: "en-GB" });
  const page = await context.newPage();
  const complaints = [];
  page.on("console", (message) => message.type() === "error" && complaints.push(message.text()));
  page.on("pageerror", (error) => complaints.push(error.message));

  await page.goto(address);
  await page.getByRole("link", { name: "Begin from a photo" }).waitFor();
  assert.equal(new URL(page.url()).hash, "", "the key stays in the address");
  await judge(page, "empty");

  await page.getByRole("link", { name: "Begin from a photo" }).click();
  const chooser = page.waitForEvent("filechooser");
  await page.getByRole("button", { name: "Choose a photo" }).click();
  await (await chooser).setFiles(path.join(samples, "rock-pool.jpg"));
  await page.locator(".questions").waitFor();
  await page.getByLabel("Squares across").fill("60");
  await charted(page);
  await judge(page, "begin");
  // A card of one's own is dropped in.
  const picker = page.waitForEvent("filechooser");
  await page.getByRole("button", { name: "Bring a shade card" }).click();
  await (await picker).setFiles(path.join(samples, "tin-of-threads.csv"));
  await page.getByText("tin-of-threads").waitFor();
  await page.getByLabel("What is it called?").fill("Low tide");
  await page.getByRole("button", { name: "Keep in the workbasket" }).click();

  await page.locator("canvas.chart").waitFor({ timeout: PATIENCE });
  assert.match((await page.locator("h1").textContent()) ?? "", /Low tide/);
  await judge(page, "piece");
  // By keys alone: the square that is focused speaks.
  await page.locator("canvas.chart").focus();
  await page.keyboard.press("ArrowRight");
  await page.keyboard.press("Shift+ArrowDown");
  assert.match((await page.locator(".tools .here").textContent()) ?? "", /^Row 11, column 1: /);
  const [first] = await page.locator(".thread").all();
  await first.click();
  assert.equal(await first.getAttribute("aria-pressed"), "true");

  await page.getByRole("link", { name: "Print" }).click();
  await page.getByRole("button", { name: "Make the pages" }).click();
  await page.getByText(/^Checked: all [\d,]+ squares/).waitFor({ timeout: PATIENCE });
  await judge(page, "print");
  const sheets = await page.getByRole("link", { name: /PDF/ }).getAttribute("href");
  const head = await page.evaluate(async (from) => (await (await fetch(from)).text()).slice(0, 5), sheets);
  assert.equal(head, "%PDF-");

  // Another window of the same browser is let in, and sees the piece.
  const other = await context.newPage();
  await other.goto(address.split("#")[0]);
  await other.getByRole("link", { name: /Low tide/ }).waitFor();
  await judge(other, "basket");
  // What has no cookie and no key is shown nothing.
  const stranger = await (await browser.newContext()).newPage();
  await stranger.goto(address);
  await stranger.getByText("This page needs a new address").waitFor();

  assert.deepEqual(complaints, []);
  child.kill("SIGKILL");
  await page.goto(`${address.split("#")[0]}#/`).catch(() => {});
});
