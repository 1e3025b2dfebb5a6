// Taps on the drawn panel answer at once. The same form is posted, with this file or without.

/** Walks lamps through their states without asking the server. */
class TapPanel extends HTMLElement {
  connectedCallback() {
    this.addEventListener("click", (event) => this.tapped(event));
  }

  /** @param {Event} event */
  tapped(event) {
    const button = event.target instanceof Element && event.target.closest("button");
    if (!(button instanceof HTMLButtonElement)) return;
    if (button.name === "tap") this.show(button.value, this.next(this.state(button.value)));
    else if (button.name === "set") {
      const [lamp, state] = button.value.split(":");
      this.show(lamp, state);
    } else if (button.name === "rest") {
      for (const lamp of this.lamps()) if (this.state(lamp) === "not sure") this.show(lamp, "off");
    } else return;
    event.preventDefault();
  }

  /** @returns {string[]} */
  lamps() {
    return [...this.querySelectorAll(".lamp")].map((lamp) => lamp.value);
  }

  /** @param {string} lamp */
  state(lamp) {
    return this.querySelector(`input[name="lamp.${CSS.escape(lamp)}"]`).value;
  }

  /** @param {string} state */
  next(state) {
    const round = this.dataset.round.split("|");
    return round[(Math.max(round.indexOf(state), 0) + 1) % round.length];
  }

  /** @param {string} lamp @param {string} state */
  show(lamp, state) {
    const name = CSS.escape(lamp);
    this.querySelector(`input[name="lamp.${name}"]`).value = state;
    const button = this.querySelector(`.lamp[value="${name}"]`);
    const told = `Lamp ${button.querySelector("b").textContent}: ${state}.`;
    button.dataset.state = state;
    button.querySelector(".lamp-state").textContent = state;
    button.setAttribute("aria-label", `${told} A tap makes it ${this.next(state)}`);
    this.querySelector("output").textContent = told;
    for (const drawn of this.querySelectorAll(`[data-lamp="${name}"] > [data-is]`)) {
      if (drawn.dataset.is === state) drawn.removeAttribute("display");
      else drawn.setAttribute("display", "none");
    }
    for (const key of this.querySelectorAll(`.key[value^="${name}:"]`)) {
      key.setAttribute("aria-pressed", String(key.value === `${lamp}:${state}`));
    }
  }
}

customElements.define("tap-panel", TapPanel);
