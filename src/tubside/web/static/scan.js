// A barcode read by the phone's own camera, where the browser can. Without this file, or
// where it cannot, the field is typed into and the photo form of the page does the rest.

const EVERY = 250; // milliseconds between two looks

/** A field with a button that looks for a barcode and writes it into the field. */
class ScanField extends HTMLElement {
  connectedCallback() {
    if (!("BarcodeDetector" in window) || !navigator.mediaDevices?.getUserMedia) return;
    this.button = document.createElement("button");
    this.button.type = "button";
    this.button.className = "second-act";
    this.button.textContent = "Scan with the camera";
    this.button.addEventListener("click", () => (this.stream ? this.stop("") : this.start()));
    this.told = document.createElement("p");
    this.told.className = "quiet";
    this.told.setAttribute("role", "status");
    this.append(this.button, this.told);
  }

  disconnectedCallback() {
    this.stop("");
  }

  async start() {
    this.wanted = true;
    try {
      const detector = new window.BarcodeDetector();
      this.stream = await navigator.mediaDevices.getUserMedia({
        video: { facingMode: "environment" },
      });
      this.video = document.createElement("video");
      this.video.muted = true;
      this.video.playsInline = true;
      this.video.className = "wide";
      this.video.srcObject = this.stream;
      this.prepend(this.video);
      this.button.textContent = "Stop the camera";
      this.told.textContent = "Hold the bars into the picture.";
      await this.video.play();
      while (this.stream) {
        const [found] = await detector.detect(this.video);
        if (found?.rawValue) return this.take(found.rawValue);
        await new Promise((done) => setTimeout(done, EVERY));
      }
    } catch {
      if (this.wanted) this.stop("The camera cannot be used here. Type the number, or send a photo.");
    }
    return undefined;
  }

  /** @param {string} text */
  take(text) {
    const field = this.querySelector("input");
    field.value = text.trim().slice(0, field.maxLength > 0 ? field.maxLength : 80);
    field.dispatchEvent(new Event("input", { bubbles: true }));
    this.stop(`Read: ${field.value}`);
    if (this.hasAttribute("data-send")) field.form.requestSubmit();
  }

  /** @param {string} words */
  stop(words) {
    this.wanted = false;
    for (const track of this.stream?.getTracks() ?? []) track.stop();
    this.video?.remove();
    this.stream = this.video = undefined;
    if (this.button) this.button.textContent = "Scan with the camera";
    if (this.told) this.told.textContent = words;
  }
}

customElements.define("scan-field", ScanField);
