// @ts-check
// Takes a check or a report from its form into the queue, and from there to the server. The form works without it: then
// the browser sends it by itself and nothing is kept on the phone.

import { clock, person } from "./phone.js";
import { discard, drain, entry, newId, save } from "./queue.js";
import { ready, say } from "./words.js";

/** @typedef {import("./queue.js").Entry} Entry @typedef {import("./queue.js").Fault} Fault */

/** How long somebody waits at the machine before the phone says that it is saved. */
const PATIENCE_MS = 6_000;

const form = /** @type {HTMLFormElement | null} */ (document.querySelector("form#check, form#report"));
if (form && person && "indexedDB" in globalThis) begin(form);

/** @param {HTMLFormElement} form */
function begin(form) {
  const kind = form.id === "check" ? "checks" : "defects";
  const idField = /** @type {HTMLInputElement} */ (form.elements.namedItem(kind === "checks" ? "check" : "id"));
  // A page that was kept would give every check the same id.
  idField.value = newId();
  // Nor was the check begun when the page was kept, but when it was opened.
  const begun = form.elements.namedItem("begun");
  if (begun instanceof HTMLInputElement) begun.value = new Date(performance.timeOrigin).toISOString();
  const again = new URLSearchParams(location.search).get("again");
  if (again) void fill(form, again);
  let busy = false;
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    if (busy) return;
    busy = true;
    const button = /** @type {HTMLButtonElement | null} */ (form.querySelector(".actions button"));
    if (button) button.disabled = true;
    void take(form, kind, idField.value, again).finally(() => {
      busy = false;
      if (button) button.disabled = false;
    });
  });
}

/**
 * @param {HTMLFormElement} form @param {"checks" | "defects"} kind @param {string} id @param {string | null} again
 */
async function take(form, kind, id, again) {
  // Without the words it is still kept and sent.
  await ready().catch((error) => void console.warn("There are no words yet.", error));
  const data = new FormData(form);
  const machine = location.pathname.split("/")[2];
  const recordedAt = new Date().toISOString();
  const { body, photos, fields } = kind === "checks" ? check(form, data, machine, recordedAt) : report(data, machine);
  /** @type {Entry} */
  const e = {
    id,
    kind,
    person,
    name: document.body.dataset.name ?? "",
    machine,
    unit: form.dataset.unit ?? "",
    recordedAt,
    body,
    photos,
    typed: /** @type {[string, string][]} */ ([...data].filter(([, v]) => typeof v === "string")),
    state: "saved",
    tries: 0,
    next: 0,
  };
  if (kind === "checks") {
    const open = unsaid(form, body);
    const { judged } = await import("./on_the_spot.js");
    // Everything that must be mended is asked at once: no question hangs on the load. Whatever happens here, the check is
    // saved and the server judges it.
    const whole = { ...body, load: body.load ?? "unladen" };
    const said = await judged(machine, whole).catch((error) => void console.error(error));
    open.push(...(said?.faults ?? []));
    if (open.length) return show(form, open, fields);
    e.verdict = said?.verdict;
  } else if (!body.what) {
    return show(form, [{ pointer: "/what", detail: say("script-say-what") }], fields);
  }
  try {
    await save(e);
  } catch (error) {
    console.warn("The phone could not keep it.", error);
    return await straight(form, e, fields);
  }
  if (again && again !== id) await discard(again);
  // Where the browser knows how, it sends also when this page is closed.
  void navigator.serviceWorker?.ready.then((r) => /** @type {any} */ (r).sync?.register("queue")).catch(() => {});
  await Promise.race([drain(true), new Promise((done) => setTimeout(done, PATIENCE_MS))]);
  const now = await entry(id);
  if (now?.state === "refused") {
    await discard(id);
    // Under another one's id it would be refused again.
    if (!now.faults?.length) renew(form);
    show(form, now.faults?.length ? now.faults : [{ pointer: "", detail: now.said ?? say("script-was-not-taken") }], fields);
  } else if (now?.state === "received") {
    location.assign(arrived(now));
  } else {
    location.assign(`/phone#${id}`);
  }
}

/** @param {Entry} e */
function arrived(e) {
  return e.kind === "checks" ? `/checks/${e.id}` : `/machines/${e.machine}?done=reported`;
}

/** The phone is full: the only other place is the server. @param {HTMLFormElement} form @param {Entry} e @param {(p: string) => string} fields */
async function straight(form, e, fields) {
  try {
    const answer = await fetch(`/api/v1/${e.kind}/${e.id}`, {
      method: "PUT",
      headers: { "content-type": "application/json", "chock-recorded-by": e.person },
      body: JSON.stringify(e.body),
      redirect: "error",
    });
    if (answer.ok) {
      for (const { item, position, picture } of e.photos) {
        const where = e.kind === "checks" ? `?${new URLSearchParams({ item, position })}` : "";
        // The check is in, whatever becomes of its photos.
        await fetch(`/api/v1/${e.kind}/${e.id}/photos${where}`, { method: "PUT", body: picture }).catch(() => {});
      }
      return location.assign(arrived(e));
    }
    const problem = await answer.json();
    show(form, problem.errors?.length ? problem.errors : [{ pointer: "", detail: problem.detail }], fields);
  } catch {
    show(form, [{ pointer: "", detail: say("script-phone-full") }], fields);
  }
}

/** @param {HTMLFormElement} form */
function renew(form) {
  const idField = /** @type {HTMLInputElement} */ (form.elements.namedItem(form.id === "check" ? "check" : "id"));
  idField.value = newId();
}

/**
 * The check as the API takes it, and the way back from a pointer into it to a field of the form.
 * @param {HTMLFormElement} form @param {FormData} data @param {string} machine @param {string} recordedAt
 */
function check(form, data, machine, recordedAt) {
  const text = (/** @type {string} */ name) => String(data.get(name) ?? "").trim();
  const stops = /** @type {HTMLElement[]} */ ([...form.querySelectorAll("[data-item]")]);
  stops.sort((a, b) => Number(a.id.slice(1)) - Number(b.id.slice(1)));
  /** @type {import("./queue.js").Photo[]} */
  const photos = [];
  const answers = stops.map((stop) => {
    const field = (/** @type {string} */ name) => text(`a.${stop.id.slice(1)}.${name}`) || undefined;
    const chosen = field("outcome");
    const isLevel = stop.dataset.asks === "level" && ["below", "between", "above"].includes(chosen ?? "");
    const outcome = chosen === "measured" || isLevel ? undefined : chosen;
    // What is folded away does not count.
    const putRight = (/** @type {string} */ name) => (outcome === "corrected" ? field(name) : undefined);
    const [item, position] = [stop.dataset.item ?? "", stop.dataset.position || undefined];
    const picture = data.get(`a.${stop.id.slice(1)}.photo`);
    if (picture instanceof File && picture.size) photos.push({ item, position: position ?? "", picture });
    return {
      item,
      position,
      outcome,
      level: isLevel ? chosen : undefined,
      value: field("value"),
      unit: field("unit"),
      correction: putRight("correction"),
      amount: putRight("amount"),
      amount_unit: putRight("amount_unit"),
      note: field("note"),
    };
  });
  const watched = data.getAll("watched").map((defect) => ({
    defect: String(defect),
    now: text(`w.${defect}`) || undefined,
    note: text(`w.${defect}.note`),
  }));
  const body = {
    machine,
    checklist: text("checklist"),
    load: text("load") || undefined,
    warmth: text("warmth") || undefined,
    air_temperature: text("air") || undefined,
    air_unit: text("air") ? text("air_unit") || undefined : undefined,
    watched,
    engine_hours: text("hours") || undefined,
    hours_confirmed: data.has("hours_confirmed"),
    answers,
    note: text("note"),
    begun_at: text("begun") || undefined,
    recorded_at: recordedAt,
  };
  const fields = (/** @type {string} */ pointer) => {
    const [, top, n, member] = pointer.split("/");
    if (top === "watched") {
      const defect = watched[Number(n)]?.defect;
      return defect ? `w-${defect}${member === "note" ? "-note" : ""}` : "watched";
    }
    const whole = { load: "load", warmth: "warmth", engine_hours: "hours", note: "note", air_temperature: "air", air_unit: "air" };
    if (top !== "answers") return whole[/** @type {keyof typeof whole} */ (top)] ?? "check";
    const stop = stops[Number(n)];
    if (!stop) return "check";
    const known = ["value", "unit", "correction", "amount", "amount_unit", "note"].includes(member);
    return `${stop.id}-${known ? member : stop.dataset.asks === "measure" ? "value" : "outcome"}`;
  };
  return { body, photos, fields };
}

/**
 * What a check cannot be sent without, in the words of the page.
 * @param {HTMLFormElement} form @param {Record<string, any>} body @returns {Fault[]}
 */
function unsaid(form, body) {
  const open = [];
  if (!body.load) {
    open.push({ pointer: "/load", detail: say("script-say-load") });
  }
  for (const [n, w] of body.watched.entries()) {
    if (!w.now) {
      const what = form.querySelector(`[id="w-${w.defect}"] > legend`)?.textContent ?? "";
      open.push({ pointer: `/watched/${n}/now`, detail: say("script-look-at-watched", { what }) });
    }
  }
  return open;
}

/** @param {FormData} data @param {string} machine */
function report(data, machine) {
  /** @type {import("./queue.js").Photo[]} */
  const photos = [];
  /** @type {Record<string, unknown>} */
  const body = { machine };
  for (const [name, value] of data) {
    if (value instanceof File) {
      if (value.size) photos.push({ item: "", position: "", picture: value });
      // What is left out counts as not sure, and not sure as the worst.
    } else if (name !== "id" && value.trim() && value !== "not sure") body[name] = value;
  }
  return { body, photos, fields: (/** @type {string} */ pointer) => `report-${pointer.split("/")[1] ?? ""}` };
}

/**
 * The summary of what must be mended, each leading to its field; nothing typed is touched.
 * @param {HTMLFormElement} form @param {Fault[]} faults @param {(pointer: string) => string} fields
 */
function show(form, faults, fields) {
  document.getElementById("errors")?.remove();
  form.querySelectorAll(".error.of-phone").forEach((e) => e.remove());
  form.querySelectorAll("[aria-invalid]").forEach((e) => e.removeAttribute("aria-invalid"));
  const summary = document.createElement("div");
  summary.id = "errors";
  summary.className = "errors";
  summary.tabIndex = -1;
  summary.setAttribute("role", "alert");
  const head = document.createElement("h2");
  head.textContent = say("script-answers-need", { count: faults.length });
  const list = document.createElement("ul");
  // Of very many only the first are named here: every field says it for itself.
  const most = faults.length > 8 ? 6 : 8;
  let more = 0;
  for (const fault of faults) {
    const one = document.createElement("li");
    const target = fields(fault.pointer);
    const field = document.getElementById(target);
    if (field) {
      const link = document.createElement("a");
      link.href = `#${target}`;
      link.textContent = fault.detail;
      one.append(link);
      field.setAttribute("aria-invalid", "true");
      const beside = document.createElement("p");
      beside.className = "error of-phone";
      beside.textContent = fault.detail;
      (field.closest("fieldset")?.querySelector(".todo") ?? field.closest(".field") ?? field).before(beside);
    } else {
      one.textContent = fault.detail;
    }
    if (field && list.children.length >= most) more += 1;
    else list.append(one);
  }
  summary.append(head, list);
  if (more) {
    const rest = document.createElement("p");
    rest.textContent = say("script-answers-more", { count: more });
    summary.append(rest);
  }
  document.getElementById("main")?.prepend(summary);
  summary.focus();
  summary.scrollIntoView({ block: "start" });
}

/** Fills the form in as it was. @param {HTMLFormElement} form @param {string} id */
async function fill(form, id) {
  const e = await entry(id);
  if (!e || e.person !== person) return;
  for (const [name, value] of e.typed) {
    if (name === "check" || name === "id" || name === "checklist") continue;
    const there = form.elements.namedItem(name);
    if (there instanceof RadioNodeList) there.value = value;
    else if (there instanceof HTMLInputElement && (there.type === "radio" || there.type === "checkbox")) there.checked = there.value === value;
    else if (there instanceof HTMLInputElement || there instanceof HTMLTextAreaElement || there instanceof HTMLSelectElement) there.value = value;
  }
  form.dispatchEvent(new Event("input"));
  await ready();
  const when = clock(new Date(e.recordedAt));
  const text = e.photos.length ? say("script-as-recorded-no-photos", { when }) : say("script-as-recorded", { when });
  const faults = e.faults?.length ? e.faults : [{ pointer: "", detail: e.said ?? "" }];
  const { fields } = form.id === "check"
    ? check(form, new FormData(form), e.machine, e.recordedAt)
    : report(new FormData(form), e.machine);
  show(form, [{ pointer: "", detail: text }, ...faults], fields);
}
