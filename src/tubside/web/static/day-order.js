// Visits of a day dragged by their number, with finger or mouse. Without this file the
// buttons of each visit do the same.

/** Rounds whose visits can be dragged; what is dropped is sent as a form. */
class DayRounds extends HTMLElement {
  connectedCallback() {
    for (const number of this.querySelectorAll(".visit .no")) {
      number.classList.add("grip");
      number.addEventListener("pointerdown", (event) => this.take(event, number));
    }
  }

  /** @param {PointerEvent} event @param {HTMLElement} number */
  take(event, number) {
    if (event.button) return;
    event.preventDefault();
    const visit = number.closest(".visit");
    let place = null;
    const move = (/** @type {PointerEvent} */ at) => {
      this.unmark();
      place = this.placeAt(at, visit);
      if (place) (place.before ?? place.list).classList.add(place.before ? "drop" : "drop-end");
    };
    const end = (/** @type {PointerEvent} */ at) => {
      number.removeEventListener("pointermove", move);
      visit.classList.remove("held-up");
      this.unmark();
      if (at.type === "pointerup" && place) this.put(visit, place);
    };
    number.setPointerCapture(event.pointerId);
    visit.classList.add("held-up");
    number.addEventListener("pointermove", move);
    number.addEventListener("pointerup", end, { once: true });
    number.addEventListener("pointercancel", end, { once: true });
  }

  /** Where a visit would go: before another one, or last in a round; null where it is. */
  placeAt(at, visit) {
    const under = document.elementFromPoint(at.clientX, at.clientY);
    const list = under?.closest(".van")?.querySelector("[data-round]");
    if (!list || !this.contains(list)) return null;
    const others = [...list.querySelectorAll(".visit")];
    const before = others.find((one) => {
      const box = one.getBoundingClientRect();
      return at.clientY < box.top + box.height / 2;
    });
    if (before === visit || (before ?? null) === visit.nextElementSibling) {
      if (visit.parentElement === list) return null;
    }
    return { list, before };
  }

  unmark() {
    for (const one of this.querySelectorAll(".drop, .drop-end")) {
      one.classList.remove("drop", "drop-end");
    }
  }

  put(visit, place) {
    const form = document.createElement("form");
    form.method = "post";
    form.action = this.dataset.day;
    const fields = {
      do: "put",
      job: visit.dataset.job,
      to: place.list.dataset.round,
      before: place.before?.dataset.job ?? "",
    };
    for (const [name, value] of Object.entries(fields)) {
      const field = document.createElement("input");
      Object.assign(field, { type: "hidden", name, value });
      form.append(field);
    }
    this.append(form);
    form.submit();
  }
}

customElements.define("day-rounds", DayRounds);
