// @ts-check
// Shows how many items of a check are answered, leads to the next open one, and makes photos small before they are
// sent. The page is whole without it: the server refuses what is missing, by name, and shrinks photos itself.

const form = /** @type {HTMLFormElement | null} */ (document.getElementById("check"));
const strip = /** @type {HTMLElement | null} */ (form?.querySelector("[data-progress]") ?? null);
if (form && strip) follow(form, strip);
for (const input of /** @type {NodeListOf<HTMLInputElement>} */ (document.querySelectorAll("input[type=file]"))) {
  input.addEventListener("change", () => void shrink(input));
}
document.getElementById("errors")?.focus();

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
