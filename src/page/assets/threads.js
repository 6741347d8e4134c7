// A thread to be picked: by its code or its name from those that are known, its colour beside it; or written down.

import { make } from "./make.js";
import { field, patch } from "./parts.js";
import { words } from "./words.js";

/** @typedef {{ code: string, name: string, colour: string }} Thread */

/** More are not looked through: a letter more finds the thread. */
const MOST = 8;

/** Letters as they are compared. @param {string} text */
const plain = (text) => text.toLowerCase().replace(/\s+/g, "");

/** Those that fit what is written, the codes that begin so first. @param {Thread[]} all @param {string} text */
function fitting(all, text) {
  const sought = plain(text);
  if (!sought) return all.slice(0, MOST);
  const rank = (/** @type {Thread} */ { code, name }) => {
    if (plain(code) === sought) return 0;
    if (plain(code).startsWith(sought)) return 1;
    return plain(name).includes(sought) || plain(code).includes(sought) ? 2 : 3;
  };
  return all
    .map((thread) => ({ thread, at: rank(thread) }))
    .filter(({ at }) => at < 3)
    .sort((one, other) => one.at - other.at)
    .slice(0, MOST)
    .map(({ thread }) => thread);
}

let made = 0;

/**
 * A field in which threads are looked for (WAI-ARIA Authoring Practices, combobox with a list), and fields to write down
 * one that is not there.
 * @param {Thread[]} all @param {{ code: string, name: string, colour: string, strands: number }} begun what stands in the fields first
 * @param {(thread: Thread & { strands: number }) => void} chose
 */
export function threadPicker(all, begun, chose) {
  const id = `threads-${(made += 1)}`;
  const list = make("ul", { id, role: "listbox", class: "found", "aria-label": words.threadsFound, hidden: true });
  const input = make("input", {
    role: "combobox", autocomplete: "off", maxLength: 80, "aria-expanded": "false", "aria-controls": id, "aria-autocomplete": "list",
    "aria-label": words.findThread, placeholder: words.findThreadHow,
  });
  const strands = make("input", { type: "number", min: 1, max: 12, value: begun.strands });
  const howMany = () => Math.max(1, Math.min(12, Math.round(Number(strands.value)) || 2));
  /** @type {Thread[]} */
  let found = [];
  let at = -1;
  const close = () => {
    list.hidden = true;
    input.setAttribute("aria-expanded", "false");
    input.removeAttribute("aria-activedescendant");
    at = -1;
  };
  const mark = () => {
    [...list.children].forEach((row, place) => row.setAttribute("aria-selected", String(place === at)));
    if (at >= 0) {
      input.setAttribute("aria-activedescendant", `${id}-${at}`);
      list.children[at].scrollIntoView({ block: "nearest" });
    } else input.removeAttribute("aria-activedescendant");
  };
  const take = (/** @type {Thread} */ thread) => {
    close();
    chose({ ...thread, strands: howMany() });
  };
  const open = () => {
    found = fitting(all, input.value);
    at = -1;
    list.replaceChildren(
      ...found.map((thread, place) => {
        // Pressed before the field loses its place, which would close the list.
        return make("li", { id: `${id}-${place}`, role: "option", "aria-selected": "false", onpointerdown: (/** @type {Event} */ event) => event.preventDefault(), onclick: () => take(thread) },
          patch(thread.colour), make("strong", {}, thread.code), " ", make("span", {}, thread.name));
      }),
    );
    if (!found.length) list.append(make("li", { role: "option", "aria-disabled": "true", class: "quiet" }, words.noThreadFound));
    const wasHidden = list.hidden;
    list.hidden = false;
    if (wasHidden) list.scrollIntoView({ block: "nearest" });
    input.setAttribute("aria-expanded", "true");
  };
  input.oninput = open;
  input.onfocus = open;
  input.onclick = () => list.hidden && open();
  input.onblur = close;
  input.onkeydown = (event) => {
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      if (list.hidden) open();
      const by = event.key === "ArrowDown" ? 1 : -1;
      if (found.length) at = (at + by + (at < 0 && by < 0 ? 1 : 0) + found.length) % found.length;
      mark();
    } else if (event.key === "Enter") {
      const chosen = found[at] ?? (found.length === 1 ? found[0] : found.find(({ code }) => plain(code) === plain(input.value)));
      if (chosen && !list.hidden) take(chosen);
    } else if (event.key === "Escape" && !list.hidden) close();
    else return;
    event.preventDefault();
  };

  const code = make("input", { maxLength: 60, value: begun.code });
  const name = make("input", { maxLength: 120, value: begun.name });
  const colour = make("input", { type: "color", value: begun.colour });
  const write = make(
    "form",
    {
      class: "written",
      onsubmit: () => {
        const [of, called] = [code.value.trim(), name.value.trim()];
        if (!of && !called) return code.focus();
        chose({ code: of || called, name: called || of, colour: colour.value, strands: howMany() });
      },
    },
    field(words.cardColumns.code, code),
    field(words.cardColumns.name, name),
    field(words.cardColumns.colour, colour),
    make("button", {}, words.useThread),
  );
  return make(
    "div",
    "pick",
    make("div", "row fields", make("label", "field finds", make("span", {}, words.findThread), input, list), field(words.strands, strands)),
    make("details", "other", make("summary", {}, words.otherThread), write),
  );
}
