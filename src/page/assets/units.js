// Numbers, days and lengths as people where this browser is write them.

const day = new Intl.DateTimeFormat(undefined, { day: "numeric", month: "long", year: "numeric", timeZone: "UTC" });

/** @param {string} iso a day such as 2026-03-07 */
export function dayInWords(iso) {
  return day.format(new Date(`${iso}T00:00:00Z`));
}

/** @param {number} value @param {number} [places] */
export function number(value, places = 0) {
  return value.toLocaleString(undefined, { maximumFractionDigits: places });
}

/** @param {number} bytes */
export function fileSize(bytes) {
  return bytes < 1e6 ? `${number(Math.max(1, bytes / 1e3))} kB` : `${number(bytes / 1e6, 1)} MB`;
}

/** @typedef {"cm" | "in"} Unit */

/** Millimetres in each. */
export const MM = { cm: 10, in: 25.4 };

/** @returns {Unit} as was chosen here before; else inches where people count in them */
export function unit() {
  const kept = localStorage.getItem("unit");
  if (kept === "cm" || kept === "in") return kept;
  return /^en-(US|LR)$|^my/.test(navigator.language) ? "in" : "cm";
}

/** @param {Unit} chosen */
export function setUnit(chosen) {
  localStorage.setItem("unit", chosen);
}

/** @param {number} width @param {number} height in millimetres */
export function lengths(width, height) {
  const chosen = unit();
  const [across, down] = [width, height].map((mm) => number(mm / MM[chosen], 1));
  return `${across} × ${down} ${chosen === "cm" ? "cm" : "in"}`;
}
