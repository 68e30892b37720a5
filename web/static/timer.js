// Lets the running timer of a work order run on the screen, and keeps a double tap from sending a form twice.

for (const time of /** @type {NodeListOf<HTMLTimeElement>} */ (document.querySelectorAll("time[data-since]"))) {
  // The device's clock may be wrong: only how far it has moved since the page came is used.
  const [h, m, s] = (time.textContent ?? "").split(":").map(Number);
  const before = ((h * 60 + m) * 60 + s) * 1000;
  const came = performance.timeOrigin + performance.now();
  const run = () => {
    const seconds = Math.floor((before + Date.now() - came) / 1000);
    const two = (/** @type {number} */ n) => String(n).padStart(2, "0");
    time.textContent = `${Math.floor(seconds / 3600)}:${two(Math.floor(seconds / 60) % 60)}:${two(seconds % 60)}`;
  };
  setInterval(run, 1000);
}

document.addEventListener("submit", (event) => {
  const form = /** @type {HTMLFormElement} */ (event.target);
  if (form.method !== "post") return;
  if (form.dataset.sent) event.preventDefault();
  form.dataset.sent = "yes";
});

// A page that comes back from the browser's memory may be sent again.
addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form[data-sent]")) form.removeAttribute("data-sent");
});
