// A photo is made smaller before it is sent: what signal there is carries it, and the place where
// it was taken stays on the phone. Without this file the server does the same when it arrives.

const QUALITY = 0.85;

/** Makes a chosen photo at most so long, as a JPEG of its pixels alone. @param {HTMLInputElement} input */
async function makeSmall(input) {
  const file = input.files?.[0];
  const longest = Number(input.dataset.longest);
  delete input.dataset.small;
  if (!file || !longest) return;
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  const share = Math.min(1, longest / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.max(1, Math.round(picture.width * share));
  canvas.height = Math.max(1, Math.round(picture.height * share));
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  const small = await new Promise((done) => canvas.toBlob(done, "image/jpeg", QUALITY));
  if (!small || input.files?.[0] !== file) return; // another one was chosen meanwhile
  const chosen = new DataTransfer();
  chosen.items.add(new File([small], "photo.jpg", { type: "image/jpeg" }));
  input.files = chosen.files;
  input.dataset.small = "yes";
}

document.addEventListener("change", (event) => {
  const input = event.target;
  if (!(input instanceof HTMLInputElement) || !input.dataset.longest) return;
  const button = input.form?.querySelector("button:not([name=erase])");
  if (button) button.disabled = true;
  makeSmall(input)
    .catch(() => {}) // what no browser reads is told by the server
    .finally(() => { if (button) button.disabled = false; });
});
