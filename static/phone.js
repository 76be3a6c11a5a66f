// Asks the browser for the address at which its push service takes reminders for this phone, puts it into the form and sends that.
// Without this script, or where the browser has no such thing, the page says so and nothing is asked.

const form = document.querySelector("form[data-push]");
const say = (id) => document.querySelectorAll("[data-phone]").forEach((words) => { words.hidden = words.dataset.phone !== id; });

async function address() {
  const { pushManager } = await navigator.serviceWorker.register("/worker.js").then(() => navigator.serviceWorker.ready);
  // One that was asked for with another key, or by somebody else, is no use.
  await (await pushManager.getSubscription())?.unsubscribe();
  return (await pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: form.dataset.push })).toJSON();
}

form?.addEventListener("submit", async (event) => {
  event.preventDefault();
  try {
    if (await Notification.requestPermission() !== "granted") return say("refused");
    const { endpoint, keys } = await address();
    for (const [name, value] of Object.entries({ endpoint, ...keys })) form.elements[name].value = value;
    form.submit();
  } catch {
    say("failed");
  }
});

if (form) {
  form.hidden = !(isSecureContext && navigator.serviceWorker && window.PushManager);
  say(form.hidden ? "none" : "");
}
