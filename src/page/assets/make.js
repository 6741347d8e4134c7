// One small function that makes elements.

/**
 * Makes an element. Properties that begin with `on` are listeners, `class` and names with a dash are attributes, all
 * others are set as they are; a text instead is its class. Texts inside become text and never markup. No form is sent.
 * @template {keyof HTMLElementTagNameMap} T
 * @param {T} name
 * @param {Record<string, unknown> | string} [given]
 * @param {...(Node | string | null | undefined | false)} inside
 * @returns {HTMLElementTagNameMap[T]}
 */
export function make(name, given = {}, ...inside) {
  const element = document.createElement(name);
  if (name === "form") element.addEventListener("submit", (event) => event.preventDefault());
  for (const [key, value] of Object.entries(typeof given === "string" ? { class: given } : given)) {
    if (value === undefined || value === null || value === false) continue;
    if (key.startsWith("on") && typeof value === "function") {
      element.addEventListener(key.slice(2), /** @type {EventListener} */ (value));
    } else if (key === "class" || key === "for" || key === "list" || key.includes("-")) {
      element.setAttribute(key, String(value));
    } else {
      /** @type {any} */ (element)[key] = value;
    }
  }
  element.append(.../** @type {(Node | string)[]} */ (inside.filter(Boolean)));
  return element;
}

/** What draws on a canvas. @param {HTMLCanvasElement} canvas */
export function pen(canvas) {
  return /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
}

/** Draws in a part of a canvas and nowhere else. @param {CanvasRenderingContext2D} context @param {number[]} part left, top, width, height @param {() => void} draw */
export function within(context, [left, top, width, height], draw) {
  context.save();
  context.beginPath();
  context.rect(left, top, width, height);
  context.clip();
  draw();
  context.restore();
}

/** Makes an element of a drawing. @param {string} name @param {Record<string, unknown>} given attributes @param {...Node} inside */
export function drawn(name, given, ...inside) {
  const element = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(given)) element.setAttribute(key, String(value));
  element.append(...inside);
  return element;
}

/** A running stitch, as far as something is: done stitches are thread, the others are holes. @param {number | null} share from 0 to 1; nothing where it is not known @param {string} spoken */
export function runningStitch(share, spoken) {
  const stitches = 24;
  // One stitch is there as soon as one is made, and the last only with the last.
  const done = share ? Math.max(Math.floor(share * stitches), 1) : 0;
  const svg = drawn("svg", { viewBox: `0 0 ${stitches * 10} 8`, preserveAspectRatio: "none", class: "running", role: "img", "aria-label": spoken });
  for (let at = 0; at < stitches; at += 1) svg.append(drawn("path", { d: `M${at * 10 + 3} 4h4`, class: at < done ? "worked" : "open" }));
  return svg;
}

/** A hoop with nothing in it but a first thread. */
export function hoop() {
  const ring = "M20 120a100 100 0 1 1 200 0a100 100 0 1 1-200 0";
  const crosses = "M84 100l24 24m0-24l-24 24M112 100l24 24m0-24l-24 24M140 100l24 24m0-24l-24 24M98 128l24 24m0-24l-24 24M126 128l24 24m0-24l-24 24";
  const parts = [["cloth", ring], ["rim", ring], ["screw", "M108 6h24v18h-24z"], ["thread", crosses]];
  return drawn("svg", { viewBox: "0 0 240 240", class: "hoop", "aria-hidden": true }, ...parts.map(([kind, d]) => drawn("path", { class: kind, d })));
}
