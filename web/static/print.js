// Shows the buttons that print the page: without scripts the browser's own menu does it.

for (const button of /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("[data-print]"))) {
  button.hidden = false;
  button.addEventListener("click", () => print());
}
