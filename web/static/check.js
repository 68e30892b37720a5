// @ts-check
// Shows how many items of a check are answered and leads to the next open one. The page is whole without it:
// the server refuses what is missing, by name.

const form = /** @type {HTMLFormElement | null} */ (document.getElementById("check"));
const strip = /** @type {HTMLElement | null} */ (form?.querySelector("[data-progress]") ?? null);
if (form && strip) follow(form, strip);

/** @param {HTMLFormElement} form @param {HTMLElement} strip */
function follow(form, strip) {
  const groups = /** @type {HTMLElement[]} */ ([...form.querySelectorAll(".answers")]);
  const output = /** @type {HTMLOutputElement} */ (strip.querySelector("output"));
  const bar = /** @type {HTMLProgressElement} */ (strip.querySelector("progress"));
  const next = /** @type {HTMLButtonElement} */ (strip.querySelector("button"));

  const show = () => {
    const open = groups.filter((group) => !answered(group)).length;
    bar.max = groups.length;
    bar.value = groups.length - open;
    output.value = open ? `${groups.length - open} of ${groups.length} answered` : "All answered";
    next.hidden = open === 0;
  };

  next.addEventListener("click", () => {
    // The next one below what is on screen, else the first: a walk goes forward before it starts again.
    const open = groups.filter((group) => !answered(group));
    const group = open.find((g) => g.getBoundingClientRect().top > 120) ?? open[0];
    if (!group) return;
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
  return value !== null && value.value.trim() !== "";
}
