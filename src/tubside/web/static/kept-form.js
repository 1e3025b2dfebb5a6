// A form that found no signal: into the outbox, or back to the person with the reason.

import { Mend, made } from "./facts.js";
import { Full, keep, noted } from "./outbox.js";
import { unsentFor, unsentWords } from "./unsent.js";

/** A form that cannot wait for signal. */
class NeedsSignal extends Error {}

/** The facts could not be written down; ``says`` is what they told. */
class NotKept extends Error {
  /** @param {string[]} says */
  constructor(says) {
    super("not kept");
    this.says = says;
  }
}

/** Keep what a form tells; the page to go to. @param {FormData} form @param {string} path
 * @returns {Promise<string>} */
export async function factsToKeep(form, path) {
  const text = form.get("told");
  if (typeof text !== "string") throw new NeedsSignal();
  const told = JSON.parse(text);
  const all = made(told, form, path);
  if (!all.facts.length) throw new NeedsSignal();
  try {
    await keep(all, told);
  } catch (wrong) {
    if (wrong instanceof Full) throw new NotKept(all.facts.map((fact) => fact.say));
    throw wrong;
  }
  return all.go;
}

/** What to say when a form could not be kept. @param {Error} wrong @param {string[]} assets
 * @returns {Promise<Response>} */
export function refusalPage(wrong, assets) {
  if (wrong instanceof Mend) {
    return page(422, "That did not work", [wrong.message, "Go back to mend it. Nothing is lost."], assets);
  }
  if (wrong instanceof NotKept) {
    const words = [
      "This phone is full, so nothing more can be kept on it without signal.",
      ...wrong.says.map((say) => `Write it down: ${say}`),
      "What was kept before is safe. Free some room or find signal, then go back and tell it again.",
    ];
    return page(507, "Write it down on paper", words, assets);
  }
  if (wrong instanceof NeedsSignal) {
    const words = ["There is no signal, and this cannot wait for it.",
      "Go back: what you filled in is still there. Send it when there is signal."];
    return page(503, "This needs signal", words, assets);
  }
  const words = ["There is no signal, and this could not be kept on the phone.",
    `Write it down on paper, and say this to the office: ${wrong.message}`];
  return page(500, "Write it down on paper", words, assets);
}

/** A page of which no copy is held. @param {string[]} assets @returns {Promise<Response>} */
export function noSignal(assets) {
  const words = ["There is no signal, and this page is not held on this phone.",
    "Jobs of the last days are: go to the jobs at hand."];
  return page(503, "No signal", words, assets);
}

const SPECIAL = { "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;" };
const safe = (text) => text.replace(/[&<>"]/g, (letter) => SPECIAL[letter]);

/** What waits, without asking the server who this is. The page's own script renews it. */
async function unsent() {
  try {
    const user = (await noted("holder")) || "";
    return { user, words: unsentWords(await unsentFor(user)) };
  } catch {
    return { user: "", words: "" };  // a database that cannot be read must not hide the reason
  }
}

/** The address of one of our files. @param {string[]} assets @param {string} stem @param {string} ending */
const among = (assets, stem, ending) =>
  assets.find((name) => new RegExp(`^/static/${stem}-[0-9a-f]+\\.${ending}$`).test(name));

async function page(status, title, words, assets) {
  const { user, words: waits } = await unsent();
  const told = words.map((line) => `<p>${safe(line)}</p>`).join("");
  const html = `<!doctype html><html lang="en"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark"><title>${safe(title)} · tubside</title>
<link rel="stylesheet" href="${among(assets, "tubside", "css")}">
<script type="module" src="${among(assets, "offline", "js")}"></script></head>
<body data-user="${safe(user)}" data-worker="/service-worker.js">
<p class="unsent" id="unsent" role="status"${waits ? "" : " hidden"}><span>${safe(waits)}</span> <a href="/offline">What waits here</a></p>
<main class="narrow" id="main"><section class="plate wrong" role="alert"><h1>${safe(title)}</h1>${told}
<p class="row"><a class="main-act" href="/">Jobs at hand</a></p></section></main></body></html>`;
  const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
    + "connect-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'";
  const headers = { "content-type": "text/html; charset=utf-8", "content-security-policy": policy };
  return new Response(html, { status, headers });
}
