// The form of a report: what is sent is kept on this phone first, so that neither a bad network nor a dead battery loses it. And the
// one page that a phone keeps, so that a report can be made without network.

import { alone, drafted, forget, keep, newKey, send, sendAll, tell, tellSent, tellUnkept } from "./waiting.js";

/** A network that answers no sooner is none to whoever stands before a hot pack. */
const PATIENCE_MS = 8_000;
const DRAFT = "photo of a refused form";

navigator.serviceWorker?.register("/worker.js").catch(() => {});

const form = document.querySelector("form[data-report]");

const wordsOf = (node) => (node?.textContent ?? "").replace(/\s+/g, " ").trim();
const labelOf = (field) => wordsOf(field.labels?.[0]);
const asked = (field) => wordsOf(field.closest("fieldset")?.querySelector("legend")).replace(/[^?]$/, "$&:");

/** What is told, as it can be read out or sent in any other way. */
function told(made) {
  const lines = [`Report, ${new Date(made).toLocaleString("en-GB", { dateStyle: "medium", timeStyle: "short" })}, ${location.origin}${location.pathname}`];
  for (const field of form.elements) {
    const isPicked = field.matches("[type=checkbox], [type=radio]") && field.checked;
    const isTyped = field.matches("input:not([type=hidden], [type=checkbox], [type=radio], [type=file]), textarea") && field.value.trim() !== "";
    if (isPicked) lines.push(`${asked(field)} ${labelOf(field)}`.trim());
    if (isTyped) lines.push(`${labelOf(field).replace(" (optional)", "")}: ${field.value.trim()}`);
  }
  return lines.join("\n");
}

async function filled() {
  const made = Date.now();
  const pairs = [...new FormData(form)].filter(([name, value]) => typeof value === "string" && name !== "key");
  const file = form.elements.photo?.files[0];
  return {
    key: newKey(),
    of: location.pathname,
    made,
    fields: pairs,
    photo: file ? { name: file.name, type: file.type, bytes: file.size > 12 << 20 ? null : await file.arrayBuffer() } : null,
    told: told(made),
  };
}

const saysSomething = (report) => report.fields.some(([name, value]) => ["seen", "own_words", "crash"].includes(name) && !["", "something_else"].includes(value.trim()));

const later = (ms) => new Promise((done) => setTimeout(() => done(null), ms));

function say(words) {
  let said = form.querySelector("#sending");
  if (!said) {
    said = Object.assign(document.createElement("p"), { id: "sending", className: "notice" });
    said.setAttribute("role", "status");
    form.append(said);
  }
  said.textContent = words;
}

/** Something was typed since the last report was sent: nothing takes it away. */
let isTouched = false;
let isBusy = false;
/** What was told last waits on this phone. */
let hasKept = false;

async function waits() {
  hasKept = true;
  if (!isTouched) form.reset();
  say("It is kept on this phone and not sent yet. Tell a person now.");
  await tell();
  if (isTouched) return;
  const top = document.getElementById("waiting");
  top.tabIndex = -1;
  top.focus();
}

/** After a try: it is sent, or waits for the next one. `isFree`: the page may be left. */
function goOn(report, isFree) {
  if (report.sent && isFree) return location.assign(report.sent);
  if (report.sent) tellSent(report);
  sendAll();
}

const isKept = (report) => keep(report).then(() => true, () => false);

/** What could neither be kept nor sent last: told again it is the same report. */
let unkept = null;

/** Nothing can be kept here, or not with its photo: it is sent from here, and what can't be sent is kept without its photo. */
async function sendUnkept(report) {
  if (unkept && JSON.stringify(unkept.fields) === JSON.stringify(report.fields)) Object.assign(report, { key: unkept.key, made: unkept.made });
  unkept = report;
  say("It is being sent…");
  const after = await Promise.race([send(report, false).catch(() => null), later(PATIENCE_MS)]);
  if (report.sent) return location.assign(report.sent);
  if (after?.refused) return form.submit(); // Refused: the page that says what to put right.
  if (report.photo) {
    Object.assign(report, { photo: null, told: `${report.told}\nIts photo could not be kept on this phone.` });
    if (await isKept(report)) return waits();
  }
  say("It is not sent.");
  tellUnkept(report);
}

async function submit() {
  const isAgain = hasKept && !isTouched;
  isTouched = false;
  const report = await filled();
  if (!saysSomething(report)) {
    // Pressed once more: the form is empty because what it told is kept.
    if (isAgain && (await tell()).some((one) => !one.sent)) await waits();
    else if (navigator.onLine) form.submit(); // The page that says what to put right.
    else say("Tick what you see, or say it in a few words.");
    return;
  }
  if (!(await isKept(report))) return sendUnkept(report);
  navigator.storage?.persist?.().catch(() => {});
  say("It is being sent…");
  const sending = alone(() => send(report, false)).catch(() => report);
  const after = await Promise.race([sending, later(PATIENCE_MS)]);
  if (after?.refused) {
    await forget(report.key);
    if (report.photo?.bytes) await keep({ key: DRAFT, isDraft: true, photo: report.photo });
    form.submit(); // Refused: the page that says what to put right.
  } else if (after) {
    if (!after.sent) await waits();
    goOn(after, !isTouched);
  } else {
    await waits();
    // The next one can be told meanwhile.
    sending.then(async (late) => {
      if (late.refused) await keep(late);
      goOn(late, !isTouched && !isBusy);
    });
  }
}

form?.addEventListener("input", () => { isTouched = true; });
form?.addEventListener("submit", async (event) => {
  if (!window.indexedDB) return;
  event.preventDefault();
  if (isBusy) return;
  isBusy = true;
  try {
    await submit();
  } finally {
    isBusy = false;
  }
});

/** A refused form comes back without its photo, which no page may choose anew but by a script. */
async function chooseAgain(said) {
  const draft = await drafted(DRAFT);
  if (!draft) return;
  await forget(DRAFT);
  const { bytes, name, type } = draft.photo;
  const files = new DataTransfer();
  files.items.add(new File([bytes], name, { type }));
  form.elements.photo.files = files.files;
  said.textContent = "Your photo is still chosen.";
}

const lost = document.querySelector("[data-photo-lost]");
if (lost && form && window.indexedDB) chooseAgain(lost).catch(() => {});

if (form) {
  // On the kept page, in place of a label's or a pack's: what it is about is known.
  if (/^\/(t|packs)\//.test(location.pathname)) form.querySelector("#f-thing")?.remove();
}
