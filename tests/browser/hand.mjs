// A hand, eyes and a keyboard on the page, in chromium and in Firefox alike; and brede itself, opened, killed, opened again.

import assert from "node:assert/strict";
import { spawn, spawnSync } from "node:child_process";
import fs from "node:fs";
import os from "node:os";
import path from "node:path";
import { fileURLToPath } from "node:url";
import puppeteer from "puppeteer-core";

const here = path.dirname(fileURLToPath(import.meta.url));
export const samples = path.join(here, "../../samples-own");
export const printed = path.join(here, "../printed");
const axe = fs.readFileSync(path.join(here, "node_modules/axe-core/axe.min.js"), "utf8");
const rules = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"];
const binary = process.env.BREDE ?? "brede";

/** A debug build on a busy machine makes a chart in a minute. */
export const PATIENCE = Number(process.env.PATIENCE ?? 300_000);

/** How each browser is begun. Firefox is dark by preference: it cannot be told so later. */
export const browsers = {
  chromium: () =>
    puppeteer.launch({
      executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
      args: ["--no-sandbox", "--disable-gpu", "--lang=en-GB"],
      protocolTimeout: PATIENCE,
    }),
  firefox: () =>
    puppeteer.launch({
      browser: "firefox",
      executablePath: process.env.FIREFOX ?? "/usr/bin/firefox-esr",
      extraPrefsFirefox: { "layout.css.prefers-color-scheme.content-override": 0, "intl.accept_languages": "en-GB" },
      protocolTimeout: PATIENCE,
    }),
};

/** Runs a command, which must do what it is asked; gives what it says. */
export function run(...words) {
  const { status, stdout, stderr } = spawnSync(binary, words, { encoding: "utf8" });
  assert.equal(status, 0, `${words.join(" ")}\n${stderr}`);
  return stdout;
}

/** brede on a workbasket of its own. */
export class Brede {
  static async open() {
    const brede = new Brede();
    brede.basket = fs.mkdtempSync(path.join(os.tmpdir(), "brede-"));
    await brede.begin([]);
    return brede;
  }

  async begin(more) {
    this.child = spawn(binary, ["open", "--no-browser", "--json", "--basket", this.basket, ...more]);
    const line = await new Promise((resolve, reject) => {
      this.child.stdout.once("data", (data) => resolve(String(data)));
      this.child.once("exit", (code) => reject(new Error(`brede ended with ${code}`)));
    });
    this.address = JSON.parse(line).address;
    this.place = this.address.split("#")[0];
  }

  /** Puts a small piece into the workbasket, by commands. */
  async fill() {
    const folder = path.join(this.basket, "made");
    this.chart = path.join(folder, "rock-pool.chart.json");
    run("make", path.join(samples, "rock-pool.jpg"), "--columns", "30", "--colours", "6", "--out", folder);
    // What a label says is text, whatever it looks like.
    run("mark", this.chart, "outline", "kelp", "--rectangle", "5,5,12,12", "--thread", "G04", "--label", "<b>kelp</b>");
    run("keep", this.chart, "--photo", path.join(samples, "rock-pool.jpg"), "--basket", this.basket);
    const told = run("pieces", "--json", "--basket", this.basket);
    run("pieces", JSON.parse(told).pieces[0].id, "--rename", "Tide line", "--basket", this.basket);
  }

  async kill() {
    const gone = new Promise((resolve) => this.child.once("exit", resolve));
    this.child.kill("SIGKILL");
    await gone;
  }

  again() {
    return this.begin(["--port", new URL(this.place).port]);
  }

  ended() {
    return this.child.exitCode ?? new Promise((resolve) => this.child.once("exit", resolve));
  }

  end() {
    this.child.kill("SIGKILL");
    fs.rmSync(this.basket, { recursive: true, force: true });
  }
}

/** Finds what is seen, in the page: by what it is called, or by a selector that begins with a dot. */
const finder = ({ called, pattern, kinds }) => {
  const plain = (text) => (text ?? "").replace(/\s+/g, " ").trim();
  const labelOf = (element) => {
    const label = element.getAttribute("aria-label");
    if (label) return label;
    if (element.labels?.length) return [...element.labels].map((one) => one.textContent).join(" ");
    return element.textContent;
  };
  const fits = pattern ? (text) => new RegExp(pattern).test(text) : (text) => text === called;
  const isSeen = (element) => (element.labels?.[0] ?? element).checkVisibility({ visibilityProperty: true });
  if (called?.startsWith(".")) return [...document.querySelectorAll(called)].find(isSeen) ?? null;
  return [...document.querySelectorAll(kinds)].find((element) => fits(plain(labelOf(element))) && isSeen(element) && !element.disabled) ?? null;
};

const pressed = "button, a, summary, input[type=radio], .piece strong";
const written = "input, select, textarea";

/** What is looked for, in a form that goes into the page. */
const sought = (name, kinds) => (name instanceof RegExp ? { pattern: name.source, kinds } : { called: name, kinds });

const pause = (milliseconds) => new Promise((resolve) => setTimeout(resolve, milliseconds));

/** Where nothing lies over it. */
const inTheMiddle = (element) => element.evaluate((one) => one.scrollIntoView({ block: "center" }));

export class Hand {
  /** @param {import("puppeteer-core").Browser} browser */
  static async on(browser, kind, how = "") {
    const hand = new Hand();
    hand.kind = kind;
    hand.complaints = [];
    hand.context = how === "apart" ? await browser.createBrowserContext() : browser.defaultBrowserContext();
    hand.page = await hand.context.newPage();
    const size = how === "telephone" ? { width: 390, height: 844, hasTouch: true, isMobile: true } : { width: 1280, height: 800 };
    await hand.page.setViewport(size);
    hand.page.on("console", (message) => message.type() === "error" && hand.complaints.push(message.text()));
    hand.page.on("pageerror", (error) => hand.complaints.push(error.message));
    return hand;
  }

  /** Another window of the same browser. */
  async another(address) {
    const hand = new Hand();
    Object.assign(hand, { kind: this.kind, context: this.context, complaints: this.complaints });
    hand.page = await this.context.newPage();
    hand.page.on("pageerror", (error) => hand.complaints.push(error.message));
    await hand.goto(address);
    return hand;
  }

  on(does) {
    return does(this.page);
  }

  show() {
    return this.page.bringToFront();
  }

  close() {
    return this.page.close();
  }

  goto(address) {
    return this.page.goto(address);
  }

  /** Begins a piece of a photo, until its first chart is there. */
  async begins(address, photo = path.join(samples, "rock-pool.jpg")) {
    await this.goto(address);
    await this.press("Begin from a photo");
    await this.brings(".empty input[type=file]", photo);
    await this.charted();
  }

  back() {
    return this.page.evaluate(() => history.back()).then(() => pause(300));
  }

  address() {
    return this.page.evaluate(() => location.hash);
  }

  count(selector) {
    return this.page.$$eval(selector, (found) => found.length);
  }

  /** What a browser complains of while brede is away is no fault. */
  forgets() {
    this.complaints.length = 0;
  }

  /** Waits until something is so. */
  async until(what, asked, said) {
    const end = Date.now() + PATIENCE / 2;
    for (;;) {
      try {
        if (await what()) return;
      } catch (error) {
        if (!/context|detached|navigat/i.test(error.message)) throw error;
      }
      if (Date.now() > end) {
        const text = await this.page.evaluate(() => document.body.innerText).catch(() => "");
        assert.fail(`${said} ${asked}\n--- the page says:\n${text.slice(0, 1500)}`);
      }
      await pause(100);
    }
  }

  sees(text, { in: selector = "body" } = {}) {
    const asked = text instanceof RegExp ? { pattern: text.source } : { text };
    const look = ({ pattern, text, selector }) =>
      [...document.querySelectorAll(selector)].some((element) => {
        const seen = element.checkVisibility() ? (selector === "body" ? element.innerText : element.textContent) : "";
        const plain = seen.replace(/\s+/g, " ").trim();
        return pattern ? new RegExp(pattern).test(plain) || new RegExp(pattern, "m").test(seen) : plain.includes(text);
      });
    return this.until(() => this.page.evaluate(look, { ...asked, selector }), text, "not seen:");
  }

  gone(text) {
    return this.until(async () => !(await this.page.evaluate(() => document.body.innerText)).includes(text), text, "still seen:");
  }

  async found(name, kinds) {
    let element = null;
    await this.until(async () => {
      element = (await this.page.evaluateHandle(finder, sought(name, kinds))).asElement();
      return element !== null;
    }, name, "not found:");
    return element;
  }

  /** Presses something as a mouse does. What is drawn anew meanwhile is looked for again, as eyes do. */
  async press(name, tries = 3) {
    const element = await this.found(name, pressed);
    try {
      const isRadio = await element.evaluate((one) => one.type === "radio");
      const target = isRadio ? (await element.evaluateHandle((one) => one.closest("label"))).asElement() : element;
      await inTheMiddle(target);
      await target.click();
    } catch (error) {
      if (tries === 1 || !/detached|not clickable|stale|no such node/i.test(error.message)) throw error;
      await pause(300);
      await this.press(name, tries - 1);
    }
  }

  async taps(name) {
    // Fingers rest a moment; a tap close upon a drag is taken for the rest of it.
    await pause(500);
    const element = await this.found(name, pressed);
    await inTheMiddle(element);
    await element.tap();
  }

  async writes(name, text) {
    const element = await this.found(name, written);
    await inTheMiddle(element);
    await element.evaluate((one) => {
      one.focus();
      one.select?.();
    });
    await this.page.keyboard.type(text);
  }

  /** Hands a file to a field; the window in which one is chosen is the system's. */
  async brings(selector, file) {
    let field = null;
    await this.until(async () => (field = await this.page.$(selector)) !== null, selector, "not found:");
    await field.uploadFile(file);
  }

  /** Drops files anywhere on the page, as from a folder beside it. */
  drops(...files) {
    const read = (file) => (typeof file === "string" ? [path.basename(file), fs.readFileSync(file)] : file);
    const held = files.map(read).map(([name, bytes]) => [name, Buffer.from(bytes).toString("base64")]);
    return this.page.evaluate((held) => {
      const dataTransfer = new DataTransfer();
      for (const [name, text] of held) {
        const bytes = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
        const kinds = { pdf: "application/pdf", png: "image/png", jpg: "image/jpeg" };
        dataTransfer.items.add(new File([bytes], name, { type: kinds[name.split(".").at(-1)] ?? "" }));
      }
      for (const kind of ["dragenter", "dragover", "drop"]) document.body.dispatchEvent(new DragEvent(kind, { dataTransfer, bubbles: true, cancelable: true }));
    }, held);
  }

  /** What is chosen of a few. */
  chosen(name) {
    return this.page.$eval(`input[name=${name}]:checked`, (input) => input.value);
  }

  async focus(selector) {
    await this.page.focus(selector);
  }

  async key(key, held) {
    if (held) await this.page.keyboard.down(held);
    await this.page.keyboard.press(key);
    if (held) await this.page.keyboard.up(held);
  }

  /**
   * Goes with Tab until something is focused, or back with Shift where it stands before: Tab after the last thing of a page
   * leads out of it, and a driven Firefox does not come back. Its keys still reach the page, which then has no focus, and
   * press nothing (two buttons alone on a page show it; `document.hasFocus()` stays false).
   */
  async reaches(name) {
    const element = await this.found(name, `${pressed}, ${written}, [tabindex]`);
    const isBefore = await element.evaluate((one) => document.activeElement !== document.body && (document.activeElement.compareDocumentPosition(one) & Node.DOCUMENT_POSITION_PRECEDING) > 0);
    const is = (asked) => {
      const element = document.activeElement;
      const text = (element.getAttribute("aria-label") ?? (element.labels?.length ? element.labels[0].textContent : element.textContent)).replace(/\s+/g, " ").trim();
      return asked.pattern ? new RegExp(asked.pattern).test(text) : text === asked.called;
    };
    const group = await this.page.evaluate(finder, sought(name, "input[type=radio]")).catch(() => null);
    for (let at = 0; at < 400; at += 1) {
      if (await this.page.evaluate(is, sought(name))) return;
      // Within a group of choices, arrows lead on (WAI-ARIA Authoring Practices, radio group).
      const inGroup =
        group !== null &&
        (await this.page.evaluate((asked) => {
          const element = document.activeElement;
          return element.type === "radio" && [...element.closest("[role=radiogroup]").querySelectorAll("label")].some((one) => one.textContent.trim() === asked);
        }, name));
      if (inGroup) await this.key("ArrowRight");
      else await this.key("Tab", isBefore && "Shift");
    }
    assert.fail(`Tab does not lead to ${name}`);
  }

  /** Does something by keys alone. */
  async keys(name, key, text) {
    await this.reaches(name);
    if (key === "type") {
      await this.key("a", "Control");
      await this.page.keyboard.type(text);
    } else await this.page.keyboard.press(key);
  }

  /** What a new chart comes to is said once it is there. */
  async charted() {
    // Hands rest a moment before one is begun.
    await pause(400);
    await this.until(
      () => this.page.evaluate(() => /to have ready/.test(document.querySelector(".figures")?.textContent ?? "") && !document.querySelector(".look[aria-busy=true]")),
      "",
      "no chart",
    );
  }

  async box(selector) {
    const element = await this.page.waitForSelector(selector);
    return element.boundingBox();
  }

  picture(selector) {
    return pause(300).then(() => this.page.$eval(selector, (canvas) => canvas.toDataURL()));
  }

  /** A picture once it does not change any more. */
  async rested(selector) {
    let before = "";
    let now = "";
    await this.until(async () => {
      [before, now] = [now, await this.picture(selector)];
      return now === before;
    }, selector, "never rests:");
    return now;
  }

  async drag([x, y], [to, down]) {
    const finger = await this.page.touchscreen.touchStart(x, y);
    for (let at = 1; at <= 5; at += 1) await finger.move(x + ((to - x) * at) / 5, y + ((down - y) * at) / 5);
    await finger.end();
  }

  /** A drag with a pen. */
  async draws([x, y], [to, down]) {
    const session = await this.page.createCDPSession();
    const pen = (type, at) => session.send("Input.dispatchMouseEvent", { type, x: x + (to - x) * at, y: y + (down - y) * at, button: "left", buttons: 1, pointerType: "pen" });
    await pen("mousePressed", 0);
    for (const at of [0.25, 0.5, 0.75, 1]) await pen("mouseMoved", at);
    await pen("mouseReleased", 1);
  }

  async pinch([x, y], from, to) {
    const one = await this.page.touchscreen.touchStart(x - from, y);
    const other = await this.page.touchscreen.touchStart(x + from, y);
    for (let at = 1; at <= 5; at += 1) {
      const by = from + ((to - from) * at) / 5;
      await one.move(x - by, y);
      await other.move(x + by, y);
    }
    await one.end();
    await other.end();
  }
}

/** All that a browser complained of. */
export const all = (hand) => hand.complaints;

/** Where pictures of screens go. */
export const shotsOf = (kind) => process.env.SHOTS && ((name) => path.join(process.env.SHOTS, `${kind}-${name}.png`));

/** What is wrong with a screen as it is. */
async function faults(page, name) {
  // What lies half under the bottom edge is scrolled out from under it: targets are measured whole.
  const edge = (how) => page.evaluate((how) => document.querySelector("footer.edge")?.style.setProperty("position", how), how);
  await edge("static");
  const found = await page.evaluate(
    `${axe}; axe.run({ runOnly: ${JSON.stringify(rules)} }).then((result) => result.violations.map((fault) => fault.id + " " + fault.nodes.map((node) => node.target.join(" ")).join(", ")))`,
  );
  const measured = await page.evaluate(() => {
    // WCAG 2.2, 2.5.8: 24 by 24 CSS pixels.
    const small = [...document.querySelectorAll("button, a, input, select, summary")]
      .filter((element) => element.checkVisibility({ visibilityProperty: true }) && !element.classList.contains("unseen"))
      .map((element) => [element, element.getBoundingClientRect()])
      .filter(([, box]) => box.width && (box.width < 24 || box.height < 24))
      .map(([element]) => `small: ${element.tagName} ${element.textContent}`);
    const wide = document.documentElement.scrollWidth - innerWidth;
    return wide > 0 ? [...small, `${wide} pixels too wide`] : small;
  });
  await edge("");
  return [...found, ...measured].map((fault) => `${name}: ${fault}`);
}

const SIZES = [[1280, 800], [390, 844], [360, 640], [640, 400], [2560, 1440]];

/** Looks at a screen in both lights, on a desk, on a telephone, at 360 pixels, at 200 % and at 2,560 pixels. */
export const accessible = (hand, shots) => async (name, { quick = false } = {}) => {
  const { page, kind } = hand;
  const found = [];
  const lights = kind === "chromium" ? ["light", "dark"] : ["dark"];
  for (const [width, height] of quick ? SIZES.slice(0, 2) : SIZES) {
    for (const light of width > 2000 ? lights.slice(0, 1) : lights) {
      await page.setViewport({ width, height });
      if (kind === "chromium") await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: light }]);
      await pause(250);
      if (!quick || width === 390) found.push(...(await faults(page, `${name} ${width} ${light}`)));
      if (shots) await page.screenshot({ path: shots(`${name}-${width}-${light}`) });
    }
  }
  if (kind === "chromium") await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: "light" }]);
  await page.setViewport({ width: 1280, height: 800 });
  assert.deepEqual(found, []);
};
