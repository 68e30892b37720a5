// Passkeys: this browser's authenticator makes one, or proves that it has it. Loaded where one is added and on the way in.
// What is asked and answered is JSON as WebAuthn Level 3 names it.

/** @param {string} url @param {object} body */
async function send(url, body) {
  const answer = await fetch(url, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(body),
  });
  const said = await answer.json();
  if (!answer.ok) throw new Error(said.sentence);
  return said;
}

/** @param {HTMLElement} form @param {unknown} error */
function tell(form, error) {
  const said = form.querySelector("[data-said]");
  // The browser's own words are in its own language and speak of programs: ours stand on the page.
  const ours = error instanceof DOMException ? form.dataset.stopped : error instanceof Error && error.message;
  if (said) said.textContent = ours || form.dataset.stopped || "";
}

/** @param {HTMLFormElement} form @param {(form: HTMLFormElement) => Promise<string>} work */
function on(form, work) {
  const button = form.querySelector("button");
  if (!button) return;
  button.disabled = false;
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    button.disabled = true;
    try {
      location.assign(await work(form));
    } catch (error) {
      tell(form, error);
      button.disabled = false;
    }
  });
}

if ("credentials" in navigator && typeof PublicKeyCredential?.parseCreationOptionsFromJSON === "function") {
  const add = document.querySelector("form[data-passkey=add]");
  if (add instanceof HTMLFormElement) {
    on(add, async (form) => {
      const typed = new FormData(form);
      const { begun, options } = await send("/me/passkeys/begin", { password: typed.get("password") });
      const publicKey = PublicKeyCredential.parseCreationOptionsFromJSON(options);
      const made = await navigator.credentials.create({ publicKey });
      const { to } = await send("/me/passkeys", { begun, name: typed.get("name"), answer: made?.toJSON() });
      return to;
    });
  }
  const enter = document.querySelector("form[data-passkey=enter]");
  if (enter instanceof HTMLFormElement) {
    on(enter, async (form) => {
      const { begun, options } = await send("/sign-in/passkey/begin", {});
      const publicKey = PublicKeyCredential.parseRequestOptionsFromJSON(options);
      const proof = await navigator.credentials.get({ publicKey });
      const back = new FormData(form).get("to");
      const { to } = await send("/sign-in/passkey", { begun, answer: proof?.toJSON(), to: back });
      return to;
    });
  }
}
