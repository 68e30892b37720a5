// @ts-check
// Shows how many items of a check are answered, leads to the next open one, reads back every figure as it was
// understood, and makes photos small before they are sent. The page is whole without it: the server refuses what is missing, by name, and shrinks photos itself.

import { Unclear, fromBase, measured, shown } from "./figures.js";
import { figure, ready, say } from "./words.js";

/** Somebody who still types is not interrupted, above all not a screen reader. */
const PAUSE_MS = 300;

const form = /** @type {HTMLFormElement | null} */ (document.getElementById("check"));
const strip = /** @type {HTMLElement | null} */ (form?.querySelector("[data-progress]") ?? null);
for (const input of /** @type {NodeListOf<HTMLInputElement>} */ (document.querySelectorAll("input[type=file]"))) {
  input.addEventListener("change", () => void shrink(input));
}
document.getElementById("errors")?.focus();
if (form) {
  const begin = () => {
    if (strip) follow(form, strip);
    readBack(form);
  };
  // Without the words there is nothing to show, and the page is whole without it.
  ready().then(begin, (error) => console.warn("There are no words yet.", error));
}

/** @param {HTMLFormElement} form @param {HTMLElement} strip */
function follow(form, strip) {
  const groups = /** @type {HTMLElement[]} */ ([...form.querySelectorAll(".answers")]);
  const output = /** @type {HTMLOutputElement} */ (strip.querySelector("output"));
  const bar = /** @type {HTMLProgressElement} */ (strip.querySelector("progress"));
  const next = /** @type {HTMLButtonElement} */ (strip.querySelector("button"));
  const toNext = next.textContent;

  const show = () => {
    const open = groups.filter((group) => !answered(group)).length;
    bar.max = groups.length;
    bar.value = groups.length - open;
    output.value = open
      ? say("script-answered-of", { done: groups.length - open, all: groups.length })
      : say("script-all-answered");
    // From the last answer it can be many screens to where the check is sent.
    next.textContent = open ? toNext : say("script-to-send");
  };

  next.addEventListener("click", () => {
    // The next one below what is on screen, else the first: a walk goes forward before it starts again.
    const open = groups.filter((group) => !answered(group));
    const group = open.find((g) => g.getBoundingClientRect().top > 120) ?? open[0];
    if (!group) {
      const send = /** @type {HTMLButtonElement | null} */ (form.querySelector(".actions button"));
      send?.scrollIntoView({ block: "center" });
      send?.focus({ preventScroll: true });
      return;
    }
    const item = group.closest(".position, .item") ?? group;
    item.scrollIntoView({ block: "start" });
    const field = /** @type {HTMLElement | null} */ (item.querySelector(".measure input") ?? group.querySelector("input"));
    field?.focus({ preventScroll: true });
  });

  form.addEventListener("input", show);
  strip.hidden = false;
  show();
}

/** @param {HTMLElement} group */
function answered(group) {
  const chosen = /** @type {HTMLInputElement | null} */ (group.querySelector("input:checked"));
  if (!chosen) return false;
  if (chosen.value !== "measured") return true;
  const value = /** @type {HTMLInputElement | null} */ (group.parentElement?.querySelector(".measure input") ?? null);
  const unit = /** @type {HTMLSelectElement | null} */ (group.parentElement?.querySelector(".measure select") ?? null);
  return value !== null && unit !== null && understood(value.value, unit.value, "") !== null;
}

/** @param {HTMLFormElement} form */
function readBack(form) {
  const lines = /** @type {HTMLOutputElement[]} */ ([...form.querySelectorAll(".measure .read")]);
  const show = () => {
    for (const line of lines) {
      const measure = /** @type {HTMLElement} */ (line.parentElement);
      const typed = /** @type {HTMLInputElement} */ (measure.querySelector("input"));
      const unit = /** @type {HTMLSelectElement} */ (measure.querySelector("select"));
      const said = typed.value.trim() ? understood(typed.value, unit.value, line.dataset.limit ?? "") : "";
      line.toggleAttribute("data-unclear", said === null);
      const words = said ?? say("script-cannot-be-read");
      if (line.value !== words) line.value = words;
    }
  };
  let pause = 0;
  form.addEventListener("input", () => {
    clearTimeout(pause);
    pause = setTimeout(show, PAUSE_MS);
  });
  form.addEventListener("change", show);
  // A browser that goes back to the page puts in again what was typed.
  addEventListener("pageshow", show);
}

/**
 * The figure as it will be sent, and in the unit of the limit beside it. Null when it is no figure.
 * @param {string} typed @param {string} unit @param {string} limit
 */
function understood(typed, unit, limit) {
  try {
    const m = measured(typed, unit);
    if (!limit || limit === unit) return figure(shown(m));
    // Four digits: one more than gauges show, so that nothing is rounded onto the limit.
    return figure(`${shown(m)} = ${Number(fromBase(m.base, limit).toPrecision(4))} ${limit}`);
  } catch (e) {
    if (e instanceof Unclear) return null;
    throw e;
  }
}

/**
 * A phone's picture is ten times what a yard's network carries in a moment. Whatever goes wrong here, the picture as it
 * was taken is sent.
 * @param {HTMLInputElement} input
 */
async function shrink(input) {
  const longest = 1600;
  const file = input.files?.[0];
  if (!file || file.size < 400_000) return;
  try {
    const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
    const scale = Math.min(1, longest / Math.max(picture.width, picture.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.round(picture.width * scale);
    canvas.height = Math.round(picture.height * scale);
    canvas.getContext("2d")?.drawImage(picture, 0, 0, canvas.width, canvas.height);
    picture.close();
    const small = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.85));
    // Another one may have been chosen meanwhile.
    if (!(small instanceof Blob) || small.size >= file.size || input.files?.[0] !== file) return;
    const files = new DataTransfer();
    files.items.add(new File([small], "photo.jpg", { type: "image/jpeg" }));
    input.files = files.files;
  } catch (error) {
    console.warn("The photo is sent as it was taken.", error);
  }
}
