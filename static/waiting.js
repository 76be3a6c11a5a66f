// Reports that wait on this phone. Each is kept with a key made here and sent as a page opens, when the network is back, when the
// page is seen and every few seconds meanwhile, until the club's server answered: sent twice, it exists once. Without this script
// a report is a plain form.

const EVERY_MS = 15_000;
const GIVE_UP_MS = 60_000;

function open() {
  return new Promise((done, failed) => {
    const asked = indexedDB.open("sandbucket", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("reports", { keyPath: "key" });
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
}

/** What is done is on the disk before this comes back, so that a phone that dies keeps it. */
async function within(mode, act) {
  const database = await open();
  try {
    return await new Promise((done, failed) => {
      const turn = database.transaction("reports", mode, { durability: "strict" });
      const asked = act(turn.objectStore("reports"));
      turn.oncomplete = () => done(asked.result);
      turn.onabort = () => failed(turn.error);
    });
  } finally {
    database.close();
  }
}

export const keep = (report) => within("readwrite", (all) => all.put(report));
export const forget = (key) => within("readwrite", (all) => all.delete(key));
export const drafted = (key) => within("readonly", (all) => all.get(key));
const waiting = async () => (await within("readonly", (all) => all.getAll())).filter((one) => !one.isDraft);

export const newKey = () => Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join("");

const post = (address, body, key) => fetch(address, { method: "POST", body, headers: { "idempotency-key": key }, signal: AbortSignal.timeout?.(GIVE_UP_MS) });

/** Some gateway of the hall's network may answer in the club's place: only the page of a report counts. */
const reportedAt = (answer) => {
  const { origin, pathname } = new URL(answer.url);
  return answer.redirected && origin === location.origin && pathname.startsWith("/reported/") ? pathname : null;
};

/** A refusal is the last word only if the club's own server says it: what stands before it refuses too while a newer version starts. */
const isFinal = (answer) => answer.headers.get("x-answered-by") === "club" && answer.status >= 400 && answer.status < 500 && ![408, 425, 429].includes(answer.status);

/** Of a report that is sent; whether it is over. One that nothing lets through, however often it comes, is told of without it. */
async function sendPhoto(report) {
  const { photo } = report;
  const body = new FormData();
  body.append("key", `${report.key}-photo`);
  if (photo.bytes) body.append("photo", new Blob([photo.bytes], { type: photo.type }), photo.name);
  else if (photo.isRefused) body.append("refused", "yes");
  const answer = await post(report.sent, body, `${report.key}-photo`);
  if (reportedAt(answer)) return true;
  // What stands before the club may take less than the club does: that holds for good, whoever says it.
  if (!photo.bytes || !(isFinal(answer) || answer.status === 413)) return isFinal(answer);
  Object.assign(photo, { bytes: null, isRefused: true });
  await keep(report).catch(() => {});
  return sendPhoto(report);
}

/** The words first: danger waits for no picture. Comes back with `sent`, `refused` or neither set; throws without network. */
export async function send(report, isKept) {
  if (!report.sent) {
    const body = new FormData();
    body.append("key", report.key);
    for (const [name, value] of report.fields) body.append(name, value);
    const query = new URLSearchParams({ of: report.of, waited_ms: Date.now() - report.made, kept: isKept ? "yes" : "" });
    const answer = await post(`/offline?${query}`, body, report.key);
    report.sent = reportedAt(answer);
    report.refused = isFinal(answer);
    if (!report.sent) return report;
    // On a full phone it goes from here.
    if (report.photo) await keep(report).catch(() => {});
  }
  if (report.photo && !(await sendPhoto(report))) return report;
  await forget(report.key);
  report.isDone = true;
  return report;
}

const text = (tag, words, more = {}) => Object.assign(document.createElement(tag), { textContent: words, ...more });

function asText(report) {
  const box = text("textarea", "", { value: report.told, readOnly: true, rows: 5 });
  box.setAttribute("aria-label", "The report as text");
  const button = text("button", "Copy it as text", { type: "button" });
  button.addEventListener("click", async () => {
    box.select();
    const isCopied = await navigator.clipboard?.writeText(report.told).then(() => true, () => false);
    button.textContent = isCopied || document.execCommand("copy") ? "Copied" : "Copy what is marked";
  });
  const one = document.createElement("li");
  if (report.refused) one.append(text("p", "The club's server can't take it. Copy it, and give it to a person."));
  one.append(box, button);
  if (report.refused) {
    const drop = text("button", "Forget it on this phone", { type: "button", className: "plain" });
    drop.addEventListener("click", async () => { await forget(report.key); await tell(); });
    one.append(drop);
  }
  return one;
}

function place(id) {
  const held = document.getElementById(id);
  if (held) return held;
  const made = text("div", "", { id });
  document.querySelector("main").prepend(made);
  return made;
}

/** Nothing can be kept here, and nothing was sent: it can be read out, and stays in the form. */
export function tellUnkept(report) {
  const said = place("not-kept");
  said.setAttribute("role", "alert");
  const words = text("p", "", { className: "first-do danger" });
  words.append(text("b", "Not sent: tell a person now."), " This phone can't keep it. Leave this page open, and send it again once there is network.");
  const list = text("ul", "", { className: "told" });
  list.append(asText(report));
  said.replaceChildren(words, list);
  said.tabIndex = -1;
  said.focus();
}

let shown = "";

/** Says on the page how many wait. */
export async function tell() {
  const all = await waiting();
  const unsent = all.filter((report) => !report.sent);
  const photos = all.length - unsent.length;
  const now = JSON.stringify([unsent.map((report) => [report.key, report.refused]), photos]);
  if (now === shown) return all;
  shown = now;
  // Where nothing ever waited, nothing is put on the page.
  if (all.length === 0 && !document.querySelector("#waiting")) return all;
  const said = place("waiting");
  said.setAttribute("role", unsent.length > 0 ? "alert" : "status");
  said.replaceChildren();
  if (unsent.length > 0) {
    const count = unsent.length === 1 ? "1 report waits" : `${unsent.length} reports wait`;
    const words = text("p", "", { className: "first-do danger" });
    words.append(text("b", "Not sent: tell a person now."), ` ${count} on this phone, to be sent once there is network and a page of the club is open.`);
    const list = text("ul", "", { className: "told" });
    list.append(...unsent.map(asText));
    said.append(words, list);
  }
  if (photos > 0) said.append(text("p", `${photos === 1 ? "1 photo waits" : `${photos} photos wait`} on this phone. The report itself is sent.`));
  return all;
}

export function tellSent(report) {
  document.getElementById("sending")?.remove();
  const said = place("waiting-sent");
  said.setAttribute("role", "status");
  said.querySelector(`[href="${report.sent}"]`)?.parentNode.remove();
  const photo = report.photo && !report.photo.bytes ? " Its photo did not come through: add a smaller one there." : "";
  const words = text("p", `A report that waited is sent.${photo} `, { className: "notice" });
  words.append(text("a", "See whether it was read", { href: report.sent, className: "tap" }));
  said.append(words);
}

let sending = 0;

/** While `act` sends one by itself, nothing else does. */
export async function alone(act) {
  sending += 1;
  try {
    return await act();
  } finally {
    sending -= 1;
  }
}

async function sendEach() {
  const all = await tell();
  // The words of each before any photo.
  for (const report of all.sort((one, other) => !!one.sent - !!other.sent)) {
    if (report.refused) continue;
    try {
      const after = await send(report, true);
      if (after.isDone) tellSent(after);
      else if (after.refused) await keep(after);
    } catch {
      // The network is away: it waits.
    }
  }
}

export async function sendAll() {
  if (sending > 0) return;
  await alone(sendEach).catch(() => {});
  await tell().catch(() => {});
}

if (window.indexedDB) {
  sendAll();
  addEventListener("online", sendAll);
  addEventListener("pageshow", sendAll);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) sendAll(); });
  setInterval(() => { if (shown !== "" && shown !== "[[],0]" && !document.hidden) sendAll(); }, EVERY_MS);
}
