// Asking the browser, once, not to clear what this phone holds when its room runs short.

import { besides, note, noted, waiting } from "./outbox.js";

/** Key of what was asked, in the phone's own database. */
const ASKED = "asked-to-last";

/** Whether there is anything here that a clearing would lose. */
async function holdsAnything() {
  const copies = await caches.open("copies");
  const held = (await copies.keys()).some((one) => new URL(one.url).pathname.startsWith("/jobs/"));
  return held || (await waiting()).length + (await besides()).length > 0;
}

/** Ask when a job is first held; never again, whatever the answer was. */
export async function askToLast() {
  if (!navigator.storage?.persist || (await noted(ASKED)) || !(await holdsAnything())) return;
  await note(ASKED, new Date().toISOString());  // before the answer: a browser may ask the person
  if (!(await navigator.storage.persisted())) await navigator.storage.persist();
}

/** What the browser promised, on the page about this phone. @param {HTMLElement} place */
export async function tellLasting(place) {
  if (!navigator.storage?.persisted) return;
  const granted = await navigator.storage.persisted();
  const words = granted
    ? "This browser has promised to keep what waits here, also when the phone’s room runs short."
    : (await noted(ASKED))
      ? "This browser was asked to keep what waits here when the phone’s room runs short, and has not promised it. Send what waits before the phone is full; it is not asked again."
      : "This browser has not been asked yet to keep what waits here: that comes with the first job it holds.";
  place.textContent = words;
  place.hidden = false;
}
