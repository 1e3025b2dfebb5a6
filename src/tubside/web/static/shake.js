// A pushed tub felt by the phone's own accelerometer, where the browser allows it. Without
// this file, or where it does not, the file field of the same form takes a log.

const LAY_DOWN = 6; // seconds to lay the phone down
const FEEL = 12; // seconds of log
const SILENT = 1500; // milliseconds without a sample after which there is no sensor
const SHOWN = 4; // seconds of the live trace
const HEADING = "time (ms),x (m/s^2),y (m/s^2),z (m/s^2)";
const SVG = "http://www.w3.org/2000/svg";

/** A button that records, and gives the log to the file field of its form. */
class ShakeLog extends HTMLElement {
  connectedCallback() {
    if (this.button) return;
    this.samples = [];
    this.told = document.createElement("p");
    this.told.className = "quiet";
    this.told.setAttribute("role", "status");
    if (!window.isSecureContext || !("DeviceMotionEvent" in window)) {
      this.told.textContent =
        "This browser lends no motion sensor here. Record with any app that logs the accelerometer, and send its file.";
      this.append(this.told);
      return;
    }
    this.button = document.createElement("button");
    this.button.type = "button";
    this.button.className = "main-act wide";
    this.button.textContent = "Record with this phone";
    this.button.addEventListener("click", () => this.begin());
    this.append(this.button, this.told);
  }

  disconnectedCallback() {
    this.stop();
  }

  async begin() {
    const form = this.closest("form");
    const open = [...form.querySelectorAll("input[type=checkbox]")].find((box) => !box.checked);
    if (open) {
      open.reportValidity();
      return;
    }
    this.button.disabled = true;
    if (!(await this.allowed())) {
      this.fail("The sensor was not allowed. Allow motion sensors for this page, or send a file.");
      return;
    }
    this.samples = [];
    this.feel = (event) => this.take(event);
    window.addEventListener("devicemotion", this.feel);
    try {
      this.awake = await navigator.wakeLock?.request("screen");
    } catch {
      this.awake = undefined; // it may sleep; the log is short
    }
    await this.countdown(form);
  }

  /** Some browsers ask, and only on a tap. */
  async allowed() {
    if (typeof window.DeviceMotionEvent.requestPermission !== "function") return true;
    try {
      return (await window.DeviceMotionEvent.requestPermission()) === "granted";
    } catch {
      return false;
    }
  }

  /** @param {DeviceMotionEvent} event */
  take(event) {
    const felt = event.accelerationIncludingGravity?.x == null
      ? event.acceleration
      : event.accelerationIncludingGravity;
    if (felt?.x == null || felt.y == null || felt.z == null) return;
    this.samples.push([event.timeStamp, felt.x, felt.y, felt.z]);
  }

  async countdown(form) {
    const lay = Number(this.dataset.layDown ?? LAY_DOWN);
    const feel = Number(this.dataset.feel ?? FEEL);
    this.draw();
    const started = performance.now();
    for (let left = lay; left > 0; left--) {
      this.told.textContent = `Lay it down now: ${left} seconds.`;
      await pause(1000);
      if (!this.feel) return;
      if (!this.samples.length && performance.now() - started > SILENT) {
        this.fail("No sensor answers here. Record with another app, and send its file.");
        return;
      }
    }
    this.samples = [];
    for (let left = feel; left > 0; left--) {
      this.told.textContent = `Push once and let go. Hands off: ${left} seconds.`;
      await pause(1000);
      if (!this.feel) return;
    }
    this.stop();
    this.hand(form);
  }

  /** The log becomes the file of the form, as if it had been chosen. */
  hand(form) {
    if (this.samples.length < 30) {
      this.fail("Too few samples came. Keep the page open and on top, or send a file.");
      return;
    }
    const first = this.samples[0][0];
    const rows = this.samples.map(([t, ...felt]) =>
      [(t - first).toFixed(3), ...felt.map((one) => one.toFixed(5))].join(","),
    );
    const log = new File([[HEADING, ...rows, ""].join("\n")], "shake.csv", { type: "text/csv" });
    const chosen = new DataTransfer();
    chosen.items.add(log);
    form.querySelector("input[type=file]").files = chosen.files;
    const save = document.createElement("a");
    save.className = "second-act";
    save.download = "shake.csv";
    save.href = URL.createObjectURL(log);
    save.textContent = "Keep the log as a file";
    this.append(save);
    this.told.textContent = "Recorded. Sending it.";
    form.requestSubmit();
    this.button.disabled = false;
  }

  /** The last seconds of what is felt, along each way of the phone. */
  draw() {
    this.chart?.remove();
    this.chart = document.createElementNS(SVG, "svg");
    this.chart.setAttribute("class", "chart");
    this.chart.setAttribute("viewBox", "0 0 360 120");
    this.chart.setAttribute("aria-hidden", "true");
    const lines = [0, 1, 2].map((axis) => {
      const line = document.createElementNS(SVG, "polyline");
      line.setAttribute("class", `cv cv-${axis}`);
      this.chart.append(line);
      return line;
    });
    this.append(this.chart);
    const frame = () => {
      if (!this.feel) return;
      const now = this.samples.at(-1)?.[0] ?? 0;
      const some = this.samples.filter(([t]) => now - t < SHOWN * 1000);
      lines.forEach((line, axis) => {
        const values = some.map((one) => one[axis + 1]);
        const middle = values.reduce((sum, one) => sum + one, 0) / (values.length || 1);
        const points = some.map(([t], n) => {
          const y = 60 - Math.max(-55, Math.min(55, (values[n] - middle) * 9));
          return `${(360 - ((now - t) / (SHOWN * 1000)) * 360).toFixed(1)},${y.toFixed(1)}`;
        });
        line.setAttribute("points", points.join(" "));
      });
      requestAnimationFrame(frame);
    };
    requestAnimationFrame(frame);
  }

  /** @param {string} words */
  fail(words) {
    this.stop();
    this.told.textContent = words;
    this.button.disabled = false;
  }

  stop() {
    if (this.feel) window.removeEventListener("devicemotion", this.feel);
    this.feel = undefined;
    this.awake?.release().catch(() => {});
    this.awake = undefined;
  }
}

const pause = (wait) => new Promise((done) => setTimeout(done, wait));

customElements.define("shake-log", ShakeLog);
