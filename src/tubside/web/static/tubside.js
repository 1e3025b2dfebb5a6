// Taps on the drawn panel answer at once; the same form is posted either way.
/** Cycles a lamp's state without loading the page again. */
class TapPanel extends HTMLElement {
  connectedCallback() {
    this.addEventListener("click", (event) => this.tap(event));
  }

  /** @param {Event} event */
  async tap(event) {
    const button = event.target instanceof Element && event.target.closest("button");
    const form = this.closest("form");
    if (!button || !form || !["tap", "count"].includes(button.name)) return;
    event.preventDefault();
    const data = new FormData(form);
    data.set(button.name, button.value);
    const answer = await fetch(form.action, {
      method: "POST",
      body: new URLSearchParams([...data].map(([k, v]) => [k, String(v)])),
    });
    if (!answer.ok) return form.requestSubmit(button);
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = page.querySelector("tap-panel");
    if (!fresh) return form.requestSubmit(button);
    const held = button.name + "=" + button.value;
    this.replaceChildren(...fresh.childNodes);
    for (const again of this.querySelectorAll("button")) {
      if (again.name + "=" + again.value === held) again.focus();
    }
  }
}

customElements.define("tap-panel", TapPanel);
