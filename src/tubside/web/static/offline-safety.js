// The safety test with what is not yet sent: told, and proven by nobody until the server has it.

import { made } from "./making.js";
import { waiting } from "./outbox.js";

const place = document.getElementById("safety");
const KINDS = ["work-touched", "appliance-told", "safety-look", "safety-reading", "safety-rcd"];
const FORMS = { "work-touched": "touched", "appliance-told": "appliance", "safety-rcd": "test-rcd" };

/** Answers of this job that wait and were not taken back, the oldest first. */
async function told() {
  const mine = (await waiting()).filter((entry) => entry.job === place.dataset.job);
  const back = new Set(mine.map((e) => e.body.kind === "retract" && e.body.fact));
  return mine.filter((entry) => KINDS.includes(entry.body.kind) && !back.has(entry.id));
}

/** Say in a form what was told last. @param {HTMLFormElement} form @param {Object} entry */
function say(form, entry) {
  const line = form.querySelector("[data-waits]") || made("p", "reads");
  const when = new Date(entry.at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
  const wrong = entry.body.outcome === "fail" || entry.body.no_trip;
  const tail = entry.body.kind === "appliance-told" ? "its tests follow when it is sent"
    : wrong ? "sent when there is signal" : "not proven until sent";
  line.dataset.waits = "yes";
  line.replaceChildren(made("b", "", `${entry.say}: ${tail}`), made("span", "quiet", `Told on this phone at ${when}.`));
  if (entry.refused) line.append(made("span", "wrong-words", `Refused: ${entry.refused.what}`));
  form.querySelector("h2").after(line);
}

/** The rim on the first test that nobody has told anything of. */
function next() {
  const tests = [...document.querySelectorAll("form[id^=test-]")];
  if (!tests.length) return;
  tests.forEach((form) => form.classList.remove("todo"));
  tests.find((form) => !form.dataset.done && !form.querySelector("[data-waits]"))?.classList.add("todo");
}

async function show() {
  const entries = await told();
  if (!entries.length) return;
  for (const entry of entries) {
    const form = document.getElementById(FORMS[entry.body.kind] || `test-${entry.body.test}`);
    if (form) say(form, entry);
  }
  const last = new Map(entries.map((entry) => [entry.body.test || entry.body.kind, entry.body]));
  const wrong = [...last.values()].some((body) => body.outcome === "fail" || body.no_trip);
  document.getElementById("unproven").hidden = false;
  const unsafe = document.getElementById("unsafe-now");
  if (wrong && unsafe) place.querySelector("h1").after(unsafe.content.cloneNode(true));
  // a decision keeps the verdicts that were shown, and those of what waits are not known
  for (const button of document.querySelectorAll("#decide button[value=released]")) button.disabled = true;
  next();
}

show().catch(() => {});
