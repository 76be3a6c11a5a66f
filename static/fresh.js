// A list that shows by itself what came: asked for anew every few seconds, and put in place only where it is another one. Said
// politely, never while somebody types in it, and the focus stays where it is. Without this script one reloads the page.

const said = document.querySelector("[data-fresh-said]");
const { every, one, many } = said.dataset;
let tag = null;

const keysOf = (root) => new Set([...root.querySelectorAll("tbody th a,[data-news]")].map((one) => one.href + one.textContent));

/** False: somebody is at work in it. */
function put(part, fresh) {
  if (part.innerHTML === fresh.innerHTML) return true;
  const at = part.contains(document.activeElement) ? document.activeElement : null;
  const href = at?.getAttribute("href");
  const same = href ? fresh.querySelector(`a[href="${CSS.escape(href)}"]`) : null;
  if (at && !same) return false;
  part.replaceChildren(...fresh.childNodes);
  same?.focus({ preventScroll: true });
  return true;
}

function tell(before, now) {
  const came = [...now].filter((key) => !before.has(key)).length;
  const went = [...before].filter((key) => !now.has(key)).length;
  if (came > 0) said.textContent = `${came} ${came === 1 ? one : many}.`;
  else if (went > 0) said.textContent = "The list has changed.";
}

async function look() {
  if (document.hidden) return;
  const headers = tag ? { "if-none-match": tag } : {};
  const answer = await fetch(location.href, { headers, cache: "no-store" });
  if (answer.status !== 200 || answer.redirected) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  let isWhole = true;
  for (const part of document.querySelectorAll("[data-fresh]")) {
    const fresh = page.querySelector(`[data-fresh="${part.dataset.fresh}"]`);
    if (!fresh) continue;
    const before = keysOf(part);
    if (put(part, fresh)) tell(before, keysOf(part));
    else isWhole = false;
  }
  tag = isWhole ? answer.headers.get("etag") : null;
}

setInterval(() => look().catch(() => {}), Number(every) * 1000);
document.addEventListener("visibilitychange", () => look().catch(() => {}));
