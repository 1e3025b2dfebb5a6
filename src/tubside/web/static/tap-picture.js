// A picture to tap fills the page's width; the taps still go to the server in its own pixels.

/** Makes the picture inside as wide as there is room, and tells taps in the width it had. */
class TapPicture extends HTMLElement {
  connectedCallback() {
    const picture = this.querySelector("input[type=image]");
    if (!(picture instanceof HTMLInputElement)) return;
    picture.classList.add("tap-photo--wide");
    picture.addEventListener("click", (event) => this.tapped(event, picture));
  }

  /** @param {MouseEvent} event @param {HTMLInputElement} picture */
  tapped(event, picture) {
    const form = picture.form;
    if (!form || event.detail === 0) return; // by a key: the place is typed instead
    event.preventDefault();
    const box = picture.getBoundingClientRect();
    const scale = Number(this.dataset.width) / box.width;
    this.tell(form, `${picture.name}.x`, (event.clientX - box.left) * scale);
    this.tell(form, `${picture.name}.y`, (event.clientY - box.top) * scale);
    form.submit();
  }

  /** @param {HTMLFormElement} form @param {string} name @param {number} value */
  tell(form, name, value) {
    const field = document.createElement("input");
    field.type = "hidden";
    field.name = name;
    field.value = Math.max(value, 0).toFixed(2);
    form.append(field);
  }
}

customElements.define("tap-picture", TapPicture);
