// What stands on a pot: its number in its bank, or the code of its label. The last character of a code checks the others
// by ISO/IEC 7064, system MOD 37-2, so that a misread label is noticed here and not in the office.
"use strict";
const CHECK_LETTERS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*";

function checkCharacter(code) {
  let p = 0;
  for (const letter of code) p = (2 * (p + CHECK_LETTERS.indexOf(letter))) % 37;
  return CHECK_LETTERS[(38 - p) % 37];
}

// Returns the number, or the code without its check character; and a doubt in words where that does not fit.
function readPot(text) {
  const plain = text.replace(/[\s\-./·]+/g, "").toUpperCase(), code = plain.slice(0, -1);
  if (!plain) return {};
  if (/^\d{1,4}$/.test(plain)) return { number: plain };
  if (/^[0-9A-HJ-NP-Z]+$/.test(code) && checkCharacter(code) === plain.slice(-1)) return { code };
  return { code: plain, doubt: `pot “${text.trim()}”: the check character at its end does not fit` };
}

// Only some browsers read codes from pictures, and only on secure origins; elsewhere the code is typed.
const canScan = "BarcodeDetector" in window;

const hasCamera = canScan && window.isSecureContext && Boolean(navigator.mediaDevices && navigator.mediaDevices.getUserMedia);

// Looks through the camera until it reads a code, or `stopped()` says that it is enough; then lets go of the camera.
async function readLive(video, stopped) {
  const reader = new BarcodeDetector({ formats: ["qr_code"] });
  const stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" }, audio: false });
  try {
    video.srcObject = stream;
    await video.play();
    while (!stopped()) {
      const found = video.readyState > 1 ? await reader.detect(video) : [];
      if (found.length) return found[0].rawValue;
      await new Promise((done) => setTimeout(done, 200));
    }
    return "";
  } finally {
    video.srcObject = null;
    for (const track of stream.getTracks()) track.stop();
  }
}

async function scanned(file) {
  const found = await new BarcodeDetector({ formats: ["qr_code"] }).detect(await createImageBitmap(file));
  return found.length ? found[0].rawValue : "";
}
