// What places are made of: buttons, fields, questions with choices of few, and lines that say how far work is.

import { make, runningStitch } from "./make.js";
import { words } from "./words.js";

/** @param {string} text @param {() => unknown} does @param {string} [kind] @param {Record<string, unknown>} [given] */
export function button(text, does, kind, given = {}) {
  return make("button", { type: "button", class: kind, onclick: () => does(), ...given }, text);
}

/** A button that is a sign, and says what it does. @param {string} text @param {string} sign @param {() => unknown} does */
export function signButton(text, sign, does) {
  return button(sign, does, "sign", { "aria-label": text, title: text });
}

/** A field with its name above it. @param {string | Node} name @param {HTMLElement} input */
export function field(name, input) {
  return make("label", "field", make("span", {}, name), input);
}

/** What is said beside. @param {...(Node | string)} inside */
export function quiet(...inside) {
  return make("p", "quiet", ...inside);
}

/** A form that is never sent. @param {...(Node | string | false)} inside */
export function questions(...inside) {
  return make("form", "questions", ...inside);
}

/** @param {string} title @param {...(Node | string)} inside */
export function question(title, ...inside) {
  return make("fieldset", "question", make("legend", {}, title), ...inside);
}

/** A name that is free, where two pieces are called the same. @param {any[]} [warnings] @returns {string | undefined} */
export function freeName(warnings) {
  return warnings?.find((warning) => warning.kind === "same-name")?.free;
}

/** A colour to be seen. @param {string} colour @param {string} [kind] */
export function patch(colour, kind = "patch") {
  const element = make("span", { class: kind });
  element.style.backgroundColor = colour;
  return element;
}

/**
 * A choice of few, each a button.
 * @param {string} name
 * @param {[string, ...(Node | string)[]][]} options values, and words or what is shown with them
 * @param {string} value
 * @param {(value: string) => void} chose
 * @param {string} spoken
 */
export function choice(name, options, value, chose, spoken) {
  const group = make("div", { class: "choice", role: "radiogroup", "aria-label": spoken });
  for (const [one, ...shown] of options) {
    const input = make("input", { type: "radio", name, value: one, checked: one === value, onchange: () => chose(one) });
    group.append(make("label", {}, input, make("span", {}, ...shown)));
  }
  return group;
}

/** Shows another one as chosen. @param {HTMLElement} group @param {string} value */
export function choose(group, value) {
  for (const input of group.querySelectorAll("input")) input.checked = input.value === value;
}

/** A button that asks for a file, or for several. @param {string} text @param {string} accept @param {(files: File[]) => void} took @param {string} [kind] @param {boolean} [multiple] */
export function filePicker(text, accept, took, kind, multiple = false) {
  const input = make("input", { type: "file", accept, multiple, class: "unseen", tabIndex: -1, "aria-hidden": "true" });
  input.onchange = () => {
    const files = [...(input.files ?? [])];
    input.value = "";
    if (files.length) took(files);
  };
  return make("span", "picker", button(text, () => input.click(), kind), input);
}

/** A button that brings a chart, brede's or one from elsewhere. @param {import("./main.js").Place} place */
export function chartPicker(place) {
  return filePicker(words.takeIn, ".json,application/json,.pdf,application/pdf", place.take, undefined, true);
}

/** A button that brings a shade card. @param {(file: File) => void} took */
export function cardPicker(took) {
  return filePicker(words.cardBring, ".csv,text/csv,text/plain", ([file]) => took(file));
}

/** A button for a part of the page on the whole screen. @param {() => HTMLElement} of */
export function fullScreen(of) {
  const does = () => (document.fullscreenElement ? document.exitFullscreen() : of().requestFullscreen());
  const element = button(words.fullScreen, does, "full", { hidden: !document.fullscreenEnabled });
  // One such button is there at a time: the last one made.
  document.onfullscreenchange = () => (element.textContent = document.fullscreenElement ? words.fullScreenEnd : words.fullScreen);
  return element;
}

/** A line that says how far work is. @param {string} unknown what is said of a stage that has no words */
export function workLine(unknown) {
  const element = make("div", "busy");
  return {
    element,
    begin: () => element.replaceChildren(runningStitch(0, unknown)),
    /** Hears of a stage; gives its words. @param {string} event @param {any} data */
    heard(event, data) {
      if (event !== "stage") return "";
      const stage = words.stages[data.stage] ?? unknown;
      element.replaceChildren(runningStitch(data.hundredths / 100, words.stageAt(stage, data.hundredths)));
      return stage;
    },
  };
}
