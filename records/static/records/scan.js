// The camera of the scanner page. It reads QR codes and sends their text to the form of the page;
// everything else, what a code stands for and what can be done with it, is the server's to say.
(() => {
  "use strict";

  const PAUSE_MS = 120; // between two looks: quick enough for a hand, kind to the battery
  const GONE_AFTER_MS = 2500; // a label out of sight for so long may be read again
  const WIDEST_PX = 960;

  const here = document.currentScript.dataset;
  const video = document.getElementById("camera");
  const said = document.getElementById("camera-said");
  const lamp = document.getElementById("lamp");
  const canvas = document.createElement("canvas");
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  let stream = null;
  let latest = { text: "", at: 0 };
  let isSending = false;

  const say = (words) => {
    said.textContent = words;
  };

  // The browser's own detector where it knows QR, else the packaged one.
  async function chosenDecoder() {
    if ("BarcodeDetector" in window) {
      const known = await window.BarcodeDetector.getSupportedFormats();
      if (known.includes("qr_code")) {
        const detector = new window.BarcodeDetector({ formats: ["qr_code"] });
        return async (picture) => (await detector.detect(picture)).map((found) => found.rawValue);
      }
    }
    const zxing = window.ZXingWASM;
    await zxing.prepareZXingModule({
      overrides: { locateFile: (name, folder) => (name.endsWith(".wasm") ? here.wasm : folder + name) },
      fireImmediately: true,
    });
    const options = { formats: ["QRCode"], tryHarder: true, maxNumberOfSymbols: 1 };
    return async (picture) => (await zxing.readBarcodes(picture, options)).map((found) => found.text);
  }

  function looked() {
    const scale = Math.min(1, WIDEST_PX / video.videoWidth);
    canvas.width = Math.round(video.videoWidth * scale);
    canvas.height = Math.round(video.videoHeight * scale);
    pen.drawImage(video, 0, 0, canvas.width, canvas.height);
    return pen.getImageData(0, 0, canvas.width, canvas.height);
  }

  function isNew(text) {
    const now = performance.now();
    const was = latest;
    latest = { text, at: now };
    return text !== was.text || now - was.at > GONE_AFTER_MS;
  }

  async function send(text) {
    isSending = true;
    const form = document.getElementById("type-it");
    const first = document.getElementById("first");
    if (navigator.vibrate) navigator.vibrate(60);
    try {
      await window.htmx.ajax("POST", form.action, {
        target: "#scanned",
        swap: "outerHTML",
        values: {
          text,
          first: first ? first.value : "",
          csrfmiddlewaretoken: form.elements.csrfmiddlewaretoken.value,
        },
      });
    } finally {
      isSending = false;
    }
  }

  async function watch(decode) {
    while (stream) {
      if (video.videoWidth && !isSending && document.visibilityState === "visible") {
        const [text] = await decode(looked());
        if (text && isNew(text)) await send(text);
      }
      await new Promise((resume) => setTimeout(resume, PAUSE_MS));
    }
  }

  function offerLamp() {
    const [track] = stream.getVideoTracks();
    const abilities = track.getCapabilities ? track.getCapabilities() : {};
    if (!abilities.torch) return;
    lamp.hidden = false;
    lamp.addEventListener("click", () => {
      const isOn = lamp.getAttribute("aria-pressed") === "true";
      lamp.setAttribute("aria-pressed", String(!isOn));
      track.applyConstraints({ advanced: [{ torch: !isOn }] });
    });
  }

  const reasons = {
    NotAllowedError: "The camera may not be used here. Allow it in the browser, or type the code.",
    NotFoundError: "This device has no camera. Type the code.",
    NotReadableError: "Another program has the camera. Close it, or type the code.",
  };

  async function start() {
    if (!navigator.mediaDevices) {
      say("The browser gives the camera to pages by https only. Type the code.");
      return;
    }
    try {
      stream = await navigator.mediaDevices.getUserMedia({
        video: { facingMode: { ideal: "environment" }, width: { ideal: 1280 } },
        audio: false,
      });
    } catch (error) {
      say(reasons[error.name] || "The camera doesn't start. Type the code.");
      return;
    }
    video.srcObject = stream;
    video.hidden = false;
    await video.play();
    offerLamp();
    say("Looking for a label …");
    try {
      await watch(await chosenDecoder());
    } catch (error) {
      say("The decoder doesn't run in this browser. Type the code.");
      console.error(error);
    }
  }

  start();
})();
