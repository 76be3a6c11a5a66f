// The camera inside the page where things are gathered: each label it sees is added to the list. Without this script, over plain
// http or without a camera the field and the phone's own camera app do the same.

const form = document.querySelector("[data-scan]");
const canScan = window.isSecureContext && navigator.mediaDevices?.getUserMedia;
/** A label is added once for as long as it stays before the camera, and so much longer. */
const PAUSE_MS = 4000;

/** The browser's own reader, or a small library that is fetched only now. */
async function newReader() {
  const formats = (await window.BarcodeDetector?.getSupportedFormats?.()) ?? [];
  if (formats.includes("qr_code")) {
    const detector = new window.BarcodeDetector({ formats: ["qr_code"] });
    return async (video) => (await detector.detect(video)).map((code) => code.rawValue);
  }
  const { decodeQR } = await import(form.dataset.decoder);
  const canvas = document.createElement("canvas");
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  return async (video) => {
    const shrink = Math.min(1, 800 / Math.max(video.videoWidth, video.videoHeight));
    canvas.width = Math.round(video.videoWidth * shrink);
    canvas.height = Math.round(video.videoHeight * shrink);
    if (canvas.width === 0) return [];
    pen.drawImage(video, 0, 0, canvas.width, canvas.height);
    const { width, height, data } = pen.getImageData(0, 0, canvas.width, canvas.height);
    try {
      return [decodeQR({ width, height, data })];
    } catch {
      return []; // No code in this frame.
    }
  };
}

/** As if it had been typed into the field; the list is taken from the page that answers. */
async function add(text, say) {
  // A key of its own each time: an answer that was lost on the way does not stand in the way of the next pack.
  const body = new URLSearchParams({ key: crypto.randomUUID(), add: text });
  const answer = await fetch(form.action, { method: "POST", body });
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const list = page.querySelector("#list");
  if (!list) {
    say("That was not added. Open the page again.");
    return;
  }
  const wrong = page.querySelector("#w-add");
  say(wrong ? wrong.textContent : `Added. ${list.querySelector("h2").textContent} on the list.`);
  document.querySelector("#list").replaceWith(list);
  navigator.vibrate?.(wrong ? [80, 60, 80] : 60);
}

function makeRoom() {
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = "Scan with the camera";
  const said = document.createElement("p");
  said.setAttribute("role", "status");
  const video = document.createElement("video");
  video.muted = true;
  video.playsInline = true;
  video.hidden = true;
  video.setAttribute("aria-label", "What the camera sees");
  form.after(button, video, said);
  return { button, video, say: (words) => { said.textContent = words; } };
}

function start({ button, video, say }) {
  let stream = null;
  let last = { text: "", at: 0 };

  const stop = () => {
    stream?.getTracks().forEach((track) => track.stop());
    stream = null;
    video.hidden = true;
    button.textContent = "Scan with the camera";
  };

  const look = async (read) => {
    while (stream) {
      // A frame that can't be read is no reason to stop.
      for (const text of await read(video).catch(() => [])) {
        const isSame = text === last.text && Date.now() - last.at < PAUSE_MS;
        last = { text, at: Date.now() };
        if (isSame) continue;
        await add(text, say).catch(() => say("The hall's network is away. Scan it again in a moment."));
      }
      await new Promise((later) => setTimeout(later, 150));
    }
  };

  button.addEventListener("click", async () => {
    if (stream) return stop();
    try {
      stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
      video.srcObject = stream;
      await video.play();
      video.hidden = false;
      button.textContent = "Stop the camera";
      look(await newReader());
    } catch {
      stop();
      say("The camera can't be used. Scan with the phone's own camera app, or type the number.");
    }
  });
}

if (form && canScan) start(makeRoom());
