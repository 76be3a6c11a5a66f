// Without network, whatever page of the club is asked for, the one that is kept is shown: what to do now, and a report. And what is
// pushed to this phone is shown. Nothing else is kept, no page of a pack and nothing of a person. FILES, what it is drawn with, stands before this.

const PAGE = "/offline";
const KEPT = `sandbucket-${FILES[0]}`;
/** Where danger is told: a network that answers no sooner is none. */
const URGENT = /^\/(t\/|p\/|report$|contact$|offline$|packs\/[^/]+\/condition$)/;
const PATIENCE_MS = 8_000;

/** As a stranger sees it: nobody's name is on it. A newer version's page is for its own worker, which has what that is drawn with:
 * each address of a file has its version in it. */
async function renew() {
  const answer = await fetch(PAGE, { credentials: "omit", cache: "no-store" });
  const isOurs = answer.ok && !answer.redirected && (await answer.clone().text()).includes(FILES[0]);
  if (!isOurs) throw new Error("no page to keep");
  await (await caches.open(KEPT)).put(PAGE, answer);
}

async function fill() {
  await (await caches.open(KEPT)).addAll(FILES);
  await renew();
}

async function clear() {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name !== KEPT).map((name) => caches.delete(name)));
  await self.clients.claim();
}

const tooLate = () => new Promise((_, failed) => { setTimeout(() => failed(new Error("no answer")), PATIENCE_MS); });
const kept = (what) => caches.match(what, { ignoreVary: true });

async function shown(event) {
  const isUrgent = URGENT.test(new URL(event.request.url).pathname);
  try {
    const answer = await Promise.race([fetch(event.request), ...(isUrgent ? [tooLate()] : [])]);
    if (isUrgent && [502, 503, 504].includes(answer.status)) throw new Error("the club's server is away");
    if (isUrgent) event.waitUntil(renew().catch(() => {}));
    return answer;
  } catch (error) {
    const page = await kept(PAGE);
    if (page) return page;
    throw error;
  }
}

self.addEventListener("install", (event) => event.waitUntil(fill().then(() => self.skipWaiting())));
self.addEventListener("activate", (event) => event.waitUntil(clear()));
self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET") return;
  if (request.mode === "navigate") event.respondWith(shown(event));
  else if (FILES.includes(new URL(request.url).pathname)) event.respondWith(kept(request).then((file) => file ?? fetch(request)));
});

// Reminders. What a push service hands over is shown, always: browsers ask for that. A tap leads to a page of the club and nowhere else.
self.addEventListener("push", (event) => {
  const { title, body, href, tag } = event.data.json();
  event.waitUntil(self.registration.showNotification(title, { body, tag, icon: FILES[1], data: { href } }));
});
// Its push service moved this phone to another address: the club is told, which takes it from a phone that had asked. Of one that it
// ended without another (both may be null: Push API, pushsubscriptionchange) the club hears as it sends.
async function moved({ oldSubscription, newSubscription }) {
  const now = newSubscription ?? (oldSubscription && await self.registration.pushManager.subscribe(oldSubscription.options));
  if (!now) return;
  const { endpoint, keys } = now.toJSON();
  await fetch("/me/phones", { method: "POST", body: new URLSearchParams({ endpoint, ...keys, moved: "yes" }), redirect: "manual" });
}
self.addEventListener("pushsubscriptionchange", (event) => event.waitUntil(moved(event)));
self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  const to = new URL(event.notification.data.href, self.location.origin);
  if (to.origin === self.location.origin) event.waitUntil(self.clients.openWindow(to));
});
