// One small function that makes elements.

/**
 * Makes an element. Properties that begin with `on` are listeners, `class` and names with a dash are attributes, all
 * others are set as they are; texts become text and never markup.
 * @template {keyof HTMLElementTagNameMap} T
 * @param {T} name
 * @param {Record<string, unknown>} [given]
 * @param {...(Node | string | null | undefined | false)} inside
 * @returns {HTMLElementTagNameMap[T]}
 */
export function make(name, given = {}, ...inside) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(given)) {
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

/**
 * A running stitch, as far as something is: done stitches are thread, the others are holes.
 * @param {number | null} share from 0 to 1; nothing where it is not known
 * @param {string} spoken
 * @param {number} [stitches]
 */
export function runningStitch(share, spoken, stitches = 24) {
  const space = "http://www.w3.org/2000/svg";
  const svg = document.createElementNS(space, "svg");
  svg.setAttribute("viewBox", `0 0 ${stitches * 10} 8`);
  svg.setAttribute("preserveAspectRatio", "none");
  svg.setAttribute("class", "running");
  svg.setAttribute("role", "img");
  svg.setAttribute("aria-label", spoken);
  const known = share ?? 0;
  // One stitch is there as soon as one is made, and the last only with the last.
  let done = Math.floor(known * stitches);
  if (known > 0) done = Math.max(done, 1);
  for (let at = 0; at < stitches; at += 1) {
    const line = document.createElementNS(space, "path");
    line.setAttribute("d", `M${at * 10 + 3} 4h4`);
    line.setAttribute("class", at < done ? "worked" : "open");
    svg.append(line);
  }
  return svg;
}

/** A hoop with nothing in it but a first thread. */
export function hoop() {
  const space = "http://www.w3.org/2000/svg";
  const svg = document.createElementNS(space, "svg");
  svg.setAttribute("viewBox", "0 0 240 240");
  svg.setAttribute("class", "hoop");
  svg.setAttribute("aria-hidden", "true");
  for (const [kind, d] of [
    ["cloth", "M20 120a100 100 0 1 1 200 0a100 100 0 1 1-200 0"],
    ["rim", "M20 120a100 100 0 1 1 200 0a100 100 0 1 1-200 0"],
    ["screw", "M108 6h24v18h-24z"],
    ["thread", "M84 100l24 24m0-24l-24 24M112 100l24 24m0-24l-24 24M140 100l24 24m0-24l-24 24M98 128l24 24m0-24l-24 24M126 128l24 24m0-24l-24 24"],
  ]) {
    const path = document.createElementNS(space, "path");
    path.setAttribute("class", kind);
    path.setAttribute("d", d);
    svg.append(path);
  }
  return svg;
}
