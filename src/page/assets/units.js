// Numbers, days and lengths as people where this browser is write them.

const day = new Intl.DateTimeFormat(undefined, { day: "numeric", month: "long", year: "numeric", timeZone: "UTC" });

/** @param {string} iso a day such as 2026-03-07 */
export function dayInWords(iso) {
  return day.format(new Date(`${iso}T00:00:00Z`));
}

const moment = new Intl.DateTimeFormat(undefined, { dateStyle: "long", timeStyle: "short" });

/** @param {number} seconds since 1970 */
export function momentInWords(seconds) {
  return moment.format(seconds * 1000);
}

/** How numbers are written with so many places, kept: each is slow to make. */
const written = [0, 1].map((places) => new Intl.NumberFormat(undefined, { maximumFractionDigits: places }));

/** @param {number} value @param {0 | 1} [places] */
export function number(value, places = 0) {
  return written[places].format(value);
}

/** @param {number} bytes */
export function fileSize(bytes) {
  return bytes < 1e6 ? `${number(Math.max(1, bytes / 1e3))} kB` : `${number(bytes / 1e6, 1)} MB`;
}

/** A CSS pixel in millimetres (W3C, CSS Values and Units 4, 6.2). */
export const PIXEL = 25.4 / 96;

/** @typedef {"cm" | "in"} Unit */

export const MM = { cm: 10, in: 25.4 };

/** Where people measure in inches, and where they print on letter paper (Unicode CLDR, measurementData; from memory). */
const INCHES = "LR MM US";
const LETTER = "BZ CA CL CO CR GT MX NI PA PH PR SV US VE";

/** Whether this browser's country is one of these; English alone tells none. @param {string} countries */
function isIn(countries) {
  const locale = new Intl.Locale(navigator.language);
  const country = locale.region ?? (locale.language === "en" ? "" : locale.maximize().region);
  return Boolean(country) && countries.split(" ").includes(country ?? "");
}

/** @returns {Unit} as was chosen here before; else inches where people count in them */
export function unit() {
  const kept = localStorage.getItem("unit");
  if (kept === "cm" || kept === "in") return kept;
  return isIn(INCHES) ? "in" : "cm";
}

/** The paper that was chosen here before; else the usual one. */
export function paper() {
  return localStorage.getItem("paper") ?? (isIn(LETTER) ? "letter" : "a4");
}

/** @param {number} width @param {number} height in millimetres */
export function lengths(width, height) {
  const chosen = unit();
  const [across, down] = [width, height].map((mm) => number(mm / MM[chosen], 1));
  return `${across} × ${down} ${chosen === "cm" ? "cm" : "in"}`;
}
