// On every page: how many facts are not yet sent, sending them, and the worker behind it.

import { askToLast, tellLasting } from "./lasting.js";
import { letGo } from "./outbox.js";
import { flush } from "./sending.js";
import { some, unsentFor, unsentWords } from "./unsent.js";

const user = document.body.dataset.user || "";
const told = document.getElementById("unsent");
const able = isSecureContext && "serviceWorker" in navigator && "indexedDB" in window;
const SOON = 2500;
/** Milliseconds until what waits is tried again; each try doubles them. */
const AGAIN = { first: 15e3, most: 120e3 };
let asked = false;
/** Things that waited when this page last looked. */
let known = 0;
const again = { timer: 0, wait: AGAIN.first };

/** @param {import("./unsent.js").Unsent} found */
const count = (found) => found.facts.length + found.beside.length;

/** @param {string} wrong why they wait */
async function show(wrong = "") {
  const found = await unsentFor(user);
  const words = unsentWords(found);
  const parts = words ? [words] : [];
  if (wrong && found.facts.length && wrong !== "no signal") parts.push(wrong);
  if (!navigator.onLine) parts.push("no signal");
  told.hidden = parts.length === 0;
  told.querySelector("span").textContent = parts.join(" · ");
  list(found);
  known = count(found);
  return found;
}

/** The list on the page about phones: each thing, why it waits, and letting go of it. */
function list(found) {
  const place = document.getElementById("outbox");
  if (!place) return;
  place.replaceChildren(...[...found.facts, ...found.beside].map((one) => {
    const line = document.createElement("li");
    const words = document.createElement("p");
    words.textContent = one.say || { words: "Words", photo: "A photo", person: "A name" }[one.what] || one.body?.kind || "";
    line.append(words);
    const why = document.createElement("p");
    why.className = "quiet";
    why.textContent = one.refused
      ? `Refused: ${one.refused.what}; ${one.refused.where}. To mend it: ${one.refused.mend}.`
      : `Waits for signal${one.user && one.user !== user ? ` and for ${one.user}` : ""}.`;
    line.append(why);
    if (one.refused && (!one.user || one.user === user)) line.append(goButton(one));
    return line;
  }));
  place.hidden = !place.childElementCount;
}

function goButton(one) {
  const button = document.createElement("button");
  button.className = "second-act";
  button.textContent = "Let it go";
  button.addEventListener("click", async () => {
    if (button.dataset.sure) {
      await letGo(one.ref ? "beside" : "facts", [one.ref || one.id]);
      await show();
    } else {
      button.dataset.sure = "yes";
      button.textContent = "Tap again: it is then gone for good";
    }
  });
  return button;
}

/** Send what waits; a job's page is loaded anew once its facts are with the server. */
async function send() {
  const before = Math.max(known, count(await show()));
  if (navigator.onLine && before) {
    const { wrong } = known ? await flush() : { wrong: "" };
    await show(wrong);
    // the worker may have sent them, behind a page that waits
    if (known < before) arrived();
    tryAgain(wrong);
  }
  refreshSoon();
  await askToLast();
}

let leaving = false;
addEventListener("beforeunload", () => { leaving = true; });

/** Show a page of a job as it stands with what was sent, and hold that. */
function arrived() {
  asked = false;
  if (/^\/jobs\/[^/]+(\/safety)?$/.test(location.pathname)) {
    // loading it anew would undo a way that was just taken to another page
    if (untouched() && !leaving) location.reload();
    else announce();
  }
  refreshSoon(true);
}

/** A browser may think that there is signal all the while, so nothing tells when it is back.
 * @param {string} wrong why the last try ended, "" where nothing is left to try */
function tryAgain(wrong) {
  clearTimeout(again.timer);
  if (wrong) again.timer = setTimeout(() => send().catch(() => {}), again.wait);
  again.wait = wrong ? Math.min(2 * again.wait, AGAIN.most) : AGAIN.first;
}

/** Whether nothing is being filled in, so that loading the page anew loses nothing. */
function untouched() {
  return ![...document.querySelectorAll("input:not([type=hidden]), textarea")].some((field) =>
    field.type === "checkbox" || field.type === "radio"
      ? field.checked !== field.defaultChecked : field.value !== field.defaultValue);
}

function announce() {
  told.hidden = false;
  told.querySelector("span").textContent = "All sent. Load the page anew to see what others told.";
}

/** Ask the worker to hold the jobs of these days, once the page has settled. */
function refreshSoon(now = false) {
  if (asked || !navigator.onLine) return;
  asked = true;
  // the login has no worker of its own, and a phone that was locked out erases at once
  const first = now || !navigator.serviceWorker.controller || !document.body.dataset.worker;
  setTimeout(async () => {
    const { active } = await navigator.serviceWorker.ready;
    active.postMessage({ ask: "refresh", path: location.pathname });
  }, first ? 0 : SOON);
}

/** Logging out with something unsent says so first; it stays for who told it. */
function warnAtLogout() {
  const form = document.querySelector('form[action="/logout"]');
  if (!form) return;
  form.addEventListener("submit", (event) => {
    if (form.dataset.warned || told.hidden || !form.dataset.unsent) return;
    event.preventDefault();
    form.dataset.warned = "yes";
    const words = document.createElement("p");
    words.className = "strip";
    words.setAttribute("role", "alert");
    words.textContent = `${form.dataset.unsent} not yet sent. Nothing is lost: it stays on this phone until you log in here again and there is signal. Tap again to log out.`;
    form.prepend(words);
  });
  unsentFor(user).then(({ mine, beside }) => {
    if (mine.length + beside.length) form.dataset.unsent = some(mine.length || beside.length, mine.length ? "fact" : "thing");
  });
}

if (able) {
  if (document.body.dataset.worker) {
    navigator.serviceWorker.register(document.body.dataset.worker, { scope: "/", type: "module" }).catch(() => {});
  }
  const trySending = () => send().catch(() => {});
  addEventListener("online", trySending);
  addEventListener("offline", () => show().catch(() => {}));
  addEventListener("told-here", trySending);
  navigator.serviceWorker.addEventListener("message", trySending);
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") trySending();
  });
  addEventListener("pageshow", (event) => { if (event.persisted) trySending(); });
  warnAtLogout();
  trySending();
  const lasting = document.getElementById("lasting");
  if (lasting) tellLasting(lasting).catch(() => {});
  if (document.getElementById("safety")) import("./offline-safety.js").catch(() => {});
  if (document.getElementById("job") || document.getElementById("new-job")) {
    import("./offline-job.js").catch(() => {});
  }
}
