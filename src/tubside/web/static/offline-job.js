// A job's page with what is not yet sent: danger first, on the line, worked out on this phone.

import { fresh } from "./facts.js";
import { made } from "./making.js";
import { waiting } from "./outbox.js";

const page = document.getElementById("job") || document.getElementById("new-job");
const isNew = page.id === "new-job";
const job = isNew ? location.pathname.split("/")[2] : page.dataset.job;
const SAY = JSON.parse(page.dataset.say);
/** Forms whose answer changes what to do next. */
const ANSWERS = "#step form, #phone-step form";

/** Facts that count: not taken back by another one that is not yet sent. */
function counting(entries) {
  const back = new Set(entries.map((e) => e.body.kind === "retract" && e.body.fact));
  return entries.filter((entry) => !back.has(entry.id));
}

/** What to do first, before anything else on the page, and no advice under it.
 * @param {string[]} dangers */
function stop(dangers) {
  const said = dangers.includes("gas") ? ["gas"] : Object.keys(SAY).filter((d) => dangers.includes(d));
  const place = document.getElementById("stops");
  const there = place.textContent;
  for (const danger of said) {
    if (there.includes(SAY[danger])) continue;
    const section = made("section", "danger");
    section.setAttribute("role", "alert");
    const mark = made("p", "danger-mark");
    mark.append(page.querySelector("template").content.cloneNode(true), "Stop");
    section.append(mark, made("p", "", SAY[danger]));
    place.append(section);
  }
  for (const part of document.querySelectorAll("#step, #plan, #belief, [aria-labelledby=h-belief], #phone-step")) part.remove();
}

/** The form that takes back what is not yet sent; both are sent later. */
function takeBack(entry) {
  const form = made("form", "back");
  form.method = "post";
  form.action = `/jobs/${job}/take-back`;
  const told = { ...JSON.parse(page.querySelector("input[name=told]").value), job, go: `/jobs/${job}` };
  told.facts = [{ kind: "retract", fact: "$fact", reason: "$reason" }];
  const values = { told: JSON.stringify(told), once: fresh(), fact: entry.id, reason: "wrong-tap" };
  for (const [name, value] of Object.entries(values)) {
    form.append(Object.assign(made("input"), { type: "hidden", name, value }));
  }
  form.append(made("button", "chip", "Take back"));
  return form;
}

/** Hang what is not yet sent on the line, the newest first. */
function peg(entries) {
  const line = document.querySelector("#line .pegs");
  if (!line) return;
  for (const before of line.querySelectorAll(".peg--unsent")) before.remove();
  const back = new Map(entries.map((e) => [e.body.fact, e.body.kind === "retract"]));
  for (const entry of entries.filter((e) => !["caution", "advice"].includes(e.body.kind))) {
    const peg = made("li", "peg peg--unsent");
    const when = new Date(entry.at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
    const mark = document.querySelector(".peg-mark");
    if (mark) peg.append(mark.cloneNode(true));
    peg.append(made("p", "quiet peg-when", `${when} · not yet sent`), made("p", "peg-what", entry.say || entry.body.kind));
    const gone = back.get(entry.id);
    if (gone) peg.append(made("p", "quiet", "Taken back"));
    else if (entry.body.kind !== "retract") peg.append(takeBack(entry));
    if (entry.refused) peg.append(made("p", "wrong-words", `Refused: ${entry.refused.what}`));
    line.prepend(peg);
  }
}

/** The forms of a job that was opened here, by what is told already. */
function frame(entries) {
  for (const form of document.querySelectorAll('form[action*="/JOB/"]')) {
    form.action = form.getAttribute("action").replace("JOB", job);
    const field = form.querySelector("input[name=told]");
    field.value = JSON.stringify({ ...JSON.parse(field.value), job });
  }
  const bodies = counting(entries).map((entry) => entry.body);
  const family = bodies.filter((body) => body.kind === "machine" && body.family).at(-1)?.family;
  const told = bodies.some((body) => ["reported", "indication"].includes(body.kind));
  const show = (part) => { part.hidden = false; };
  if (!entries.length) return;
  document.getElementById("held").textContent = told
    ? "The call is taken. It waits on this phone and is sent when there is signal; the advice follows then."
    : "This job is opened on this phone. What you tell waits here and is sent when there is signal.";
  if (!family) document.querySelectorAll("[data-part=machine]").forEach(show);
  else if (!told) document.querySelectorAll(`[data-family="${CSS.escape(family)}"]`).forEach(show);
}

/** Everything not yet sent, and the advice for it. */
async function show() {
  const entries = (await waiting()).filter((entry) => entry.job === job);
  const told = counting(entries);
  if (isNew) frame(entries);
  peg(entries);
  const dangers = told.flatMap((entry) => (entry.body.kind === "danger" ? entry.body.kinds || [] : []));
  if (dangers.length) stop(dangers);
  if (!isNew && told.length) {
    const { workOut } = await import("./phone-advice.js");
    await workOut({ job, entries: told, stop, page });
  }
  return told;
}

/** Whether there is no signal: this page is a copy, or the browser says so. A network that leads
 * nowhere counts as one for the browser. */
function alone() {
  const [loaded] = performance.getEntriesByType("navigation");
  return !navigator.onLine || Boolean(loaded?.serverTiming?.some((one) => one.name === "copy"));
}

/** Without signal an answer is counted on the page it was told on: what ran once here is quick.
 * What cannot be kept goes the usual way, where the worker says why.
 * @param {SubmitEvent} event */
async function answered(event) {
  const { target: form, submitter } = event;
  if (!alone() || !form.matches(ANSWERS) || form.dataset.plain) return;
  event.preventDefault();
  if (form.dataset.busy) return;
  form.dataset.busy = "yes";
  try {
    const data = new FormData(form);
    if (submitter?.name) data.set(submitter.name, submitter.value);
    const { factsToKeep } = await import("./kept-form.js");
    await factsToKeep(data, new URL(form.action).pathname);
    await show();
    dispatchEvent(new Event("told-here"));
    follow();
  } catch {
    form.dataset.plain = "yes";
    delete form.dataset.busy;
    form.requestSubmit(submitter);
  }
}

/** On to what came of it, for eyes, thumbs and screen readers alike. */
function follow() {
  const next = document.querySelector("#phone-step h2, #phone-advice h2") || document.getElementById("main");
  next.tabIndex = -1;
  next.focus({ preventScroll: true });
  (next.closest("section") || next).scrollIntoView({ block: "start" });
}

async function begin() {
  const told = await show();
  if (isNew) return;
  document.addEventListener("submit", answered);
  const ready = async () => {
    const [{ getReady }] = await Promise.all([import("./phone-advice.js"), import("./kept-form.js")]);
    await getReady(job, told);
  };
  if (alone()) await ready();
  else addEventListener("offline", () => ready().catch(() => {}), { once: true });
}

begin().catch(() => {});
