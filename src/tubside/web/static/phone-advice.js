// Belief and next step of a job, worked out on this phone from what it took along.

import { chances, NeedsSignal, nextSteps, openPocket, update } from "./belief.js";
import { fresh } from "./facts.js";

const SHOWN_CAUSES = 5;
const OTHERS = 8;
/** The water of a drawn tub, as in web/pages/rendering.py. */
const TUB = { bottom: 54, height: 43 };
/** For looking two steps ahead [ms]. */
const TIME = 150;
/** Times that the arithmetic runs before it is asked for: a browser makes quick what runs often. */
const ROUNDS = 5;
/** Sets of causes that the first answer looks at where the arithmetic has not run so often. */
const AT_ONCE = 150;

/** What this page fetched, how far it is counted, and how often the arithmetic ran. */
const here = { json: null, told: [], pocket: null, ran: 0 };
addEventListener("online", () => Object.assign(here, { json: null, told: [], pocket: null }));

/** @param {string} tag @param {string} [kind] @param {string} [text] */
function made(tag, kind = "", text = "") {
  const element = document.createElement(tag);
  if (kind) element.className = kind;
  if (text) element.textContent = text;
  return element;
}

const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);
const percent = (chance) => (chance < 0.005 ? "under 1 %" : `${Math.round(100 * chance)} %`);

/** Put advice for all that was told into the place of what stands there.
 * @param {{job: string, entries: import("./outbox.js").Entry[],
 *   stop: (dangers: string[]) => void, page: HTMLElement}} at */
export async function workOut({ job, entries, stop, page }) {
  const place = [...document.querySelectorAll("#step, #plan, [aria-labelledby=h-belief], #phone-advice")];
  const column = document.querySelector(".two > .stack");
  if (!column) return;
  const news = made("div", "stack");
  news.id = "phone-advice";
  try {
    const pocket = counted(await pocketOf(job), entries);
    const next = here.ran < ROUNDS ? nextSteps(pocket, 0, AT_ONCE) : nextSteps(pocket, TIME);
    if (next.stop.length) stop(next.stop.map((one) => one.danger));
    if (pocket.stop.length) return;
    news.append(stepSection(job, pocket, next, JSON.parse(page.dataset.reads), page));
    news.append(beliefSection(chances(pocket), document.querySelector("svg.tub")));
  } catch (wrong) {
    if (!(wrong instanceof NeedsSignal)) throw wrong;
    const section = made("section", "plate");
    section.append(made("h2", "", "The advice follows when there is signal"));
    section.append(made("p", "quiet", `${capital(wrong.why.join("; "))}. What you told is kept.`));
    news.append(section);
  }
  for (const old of place) old.remove();
  column.prepend(news);
}

/** Run the arithmetic of this job while nobody waits for it, in short turns, so that it is quick
 * when asked for.
 * @param {string} job @param {import("./outbox.js").Entry[]} entries */
export async function getReady(job, entries) {
  try {
    const json = await pocketOf(job);
    for (; here.ran < ROUNDS; here.ran++) {
      await idle();
      const pocket = toldOf(json, entries).reduce(update, openPocket(json));
      await idle();
      chances(pocket);
      await idle();
      if (here.ran < ROUNDS - 1) nextSteps(pocket, 0, AT_ONCE);
      else nextSteps(pocket, TIME);
    }
  } catch (wrong) {
    if (!(wrong instanceof NeedsSignal)) throw wrong;  // told when the advice is asked for
  }
}

const idle = () => new Promise((resolve) => {
  if (window.requestIdleCallback) requestIdleCallback(resolve, { timeout: 500 });
  else setTimeout(resolve, 50);
});

/** Facts that the numbers do not hold yet, in the order told. */
function toldOf(json, entries) {
  // what the server had when this was fetched is counted in it already
  const later = entries.filter((e) => !(json.seen?.[e.device] >= e.sequence));
  return later.filter((e) => !e.refused).sort((a, b) => (a.at < b.at ? -1 : 1));
}

/** The job with every fact; what this page has counted before is not counted again. */
function counted(json, entries) {
  const told = toldOf(json, entries);
  const goesOn = here.pocket !== null && here.told.every((id, place) => told[place]?.id === id);
  const from = goesOn ? here.told.length : 0;
  here.pocket = told.slice(from).reduce(update, goesOn ? here.pocket : openPocket(json));
  here.told = told.map((one) => one.id);
  return here.pocket;
}

async function pocketOf(job) {
  if (here.json) return here.json;
  try {
    const answer = await fetch(`/jobs/${job}/pocket.json`);
    if (answer.ok) return (here.json = await answer.json());
  } catch { /* none is held */ }
  throw new NeedsSignal(["this phone holds no numbers of this job"]);
}

function eyebrow(next) {
  const far = next.ahead > 1 ? "two steps ahead" : "one step ahead";
  const over = next.over ? `, over the ${next.over} likeliest sets of causes` : "";
  return `Next step, worked out on this phone, ${far}${over}`;
}

function stepSection(job, pocket, next, reads, page) {
  const section = made("section", "plate todo");
  section.id = "phone-step";
  const [step, ...others] = next.steps;
  if (!step) {
    section.append(made("h2", "", "Prove it and close the job"));
    section.append(link(`/jobs/${job}/closing`, "Close the job", "main-act wide"));
    return section;
  }
  const header = made("header");
  header.append(made("p", "eyebrow", eyebrow(next)), made("h2", "", capital(step.title)));
  section.append(header, stepBody(job, pocket, step, reads, page));
  section.append(made("p", "quiet", `About ${Math.round(step.expectedCost)} to the end. The proven plan follows when there is signal.`));
  const more = others.filter((one) => one.kind === "check" || one.kind === "remedy").slice(0, OTHERS);
  if (more.length) section.append(otherSteps(section, job, pocket, next, more, reads, page));
  return section;
}

function otherSteps(section, job, pocket, next, more, reads, page) {
  const details = made("details", "more");
  details.append(made("summary", "", "Other steps"));
  const list = made("ul", "plain");
  for (const one of more) {
    const line = made("li");
    const button = made("button", "second-act", capital(one.title));
    button.type = "button";
    button.addEventListener("click", () => {
      const steps = [one, ...next.steps.filter((other) => other !== one)];
      const fresher = stepSection(job, pocket, { ...next, steps }, reads, page);
      section.replaceWith(fresher);
      fresher.scrollIntoView();
    });
    line.append(button, made("span", "quiet", `${Math.round(one.minutes)} min`));
    list.append(line);
  }
  details.append(list);
  return details;
}

function link(address, words, kind) {
  const anchor = made("a", kind, words);
  anchor.href = address;
  return anchor;
}

/** The form of a step: its cautions before its instruction, and that before its answers. */
function stepBody(job, pocket, step, reads, page) {
  if (step.kind !== "check" && step.kind !== "remedy") {
    const rest = made("div", "stack");
    rest.append(...cautionsOf(step, false), made("p", "do", step.do || ""));
    if (step.kind !== "visit") rest.append(link(`/jobs/${job}/closing`, "Close the job this way", "main-act wide"));
    else rest.append(made("p", "quiet", "Booking needs signal."));
    return rest;
  }
  const form = made("form");
  form.method = "post";
  form.action = `/jobs/${job}/steps/${step.id}`;
  const by = pocket.situation.onSite ? "technician" : "customer";
  form.append(hidden("once", fresh()), hidden("told", JSON.stringify(told(step, by, reads, page))));
  form.append(...cautionsOf(step, true));
  if (pocket.situation.onSite) form.append(made("p", "do", step.do));
  else form.append(say(step.do));
  if (reads[step.id] && step.kind === "check") form.append(...sheetSays(step.sheet), ...number(reads[step.id]));
  form.append(answers(step, pocket, reads));
  return form;
}

function say(words) {
  const box = made("div", "say");
  box.append(made("p", "say-mark", "Read out"), made("p", "", `“${words}”`));
  return box;
}

function hidden(name, value) {
  const field = made("input");
  Object.assign(field, { type: "hidden", name, value });
  return field;
}

/** The patterns of the form, as the server writes them (web/pages/told_forms.py). */
function told(step, by, reads, page) {
  const before = JSON.parse(page.querySelector("input[name=told]").value);
  const caution = { kind: "caution", caution: "$", step: step.id };
  const need = step.cautions.map((one) => one.id);
  const facts = need.length ? [{ each: "caution", need, body: caution }] : [];
  if (step.kind === "remedy") facts.push({ kind: "remedy", remedy: step.id, by, outcome: "$outcome" });
  else if (reads[step.id]) facts.push({ read: { check: step.id, by, ...reads[step.id] } });
  else facts.push({ kind: "check", check: step.id, by, outcome: "$outcome" });
  const names = Object.fromEntries(outcomesOf(step).map((one) => [one.id, one.title]));
  return { ...before, facts, say: capital(step.title), names };
}

function cautionsOf(step, ticks) {
  if (!step.cautions.length) return [];
  const box = made("div", "cautions");
  for (const one of step.cautions) {
    const line = made(ticks ? "label" : "div", "caution");
    const words = made("span", "caution-words");
    words.append(made("b", "", capital(one.harm)), one.do);
    line.append(made("span", "caution-mark", "caution"), words);
    if (ticks) {
      const box_ = made("input");
      Object.assign(box_, { type: "checkbox", name: "caution", value: one.id, required: true });
      line.append(box_);
    }
    box.append(line);
  }
  const set = made("fieldset");
  set.append(made("legend", "", ticks ? "What can hurt: tick each" : "What can hurt"), box);
  return [set];
}

/** What the model's own sheet says of a number, as on the server's page. */
function sheetSays(said) {
  if (!said.length) return [];
  const line = made("p", "sheet-says", "Reckoned with ");
  said.forEach((one, place) => line.append(place ? "; " : "", made("b", "", one)));
  line.append(".");
  return [line];
}

function number(read) {
  const label = made("label", "field", `Number, in ${read.unit || "figures"}`);
  const field = made("input");
  Object.assign(field, { name: "value", inputMode: "decimal", autocomplete: "off", maxLength: 40, required: true });
  label.append(field);
  return [label, made("button", "main-act wide", "Peg it on the line")];
}

const outcomesOf = (step) => (step.kind === "remedy"
  ? [{ id: "works", title: "the re-run passes" }, { id: "still-fails", title: "it still fails" }]
  : step.outcomes);

function answers(step, pocket, reads) {
  const set = made("fieldset", "outcomes");
  set.append(made("legend", "", step.kind === "remedy" ? "Run the part that failed again. How did it go?" : "What is the answer?"));
  const nothing = step.kind === "remedy" ? ["not done"] : pocket.rules.nothing_learned;
  const known = reads[step.id] && step.kind === "check" ? [] : outcomesOf(step);
  for (const one of known) set.append(answer(one.id, one.title, "outcome"));
  for (const id of nothing) {
    const button = answer(id, id, "outcome outcome--nothing");
    button.formNoValidate = true;
    set.append(button);
  }
  return set;
}

function answer(value, words, kind) {
  const button = made("button", kind, capital(words || value));
  Object.assign(button, { name: "outcome", value });
  return button;
}

/** A tub filled to a chance, after one that the server drew. */
function tubOf(drawn, chance) {
  if (!drawn) return [];
  const tub = drawn.cloneNode(true);
  const level = TUB.bottom - TUB.height * Math.min(Math.max(chance, 0), 1);
  const water = `M4 ${level.toFixed(1)}q5-2.6 10 0${"t10 0 10 0 10 0 10 0 10 0 10 0 10 0 10 0"}V60H4z`;
  tub.querySelector(".tub-water").setAttribute("d", water);
  return [tub];
}

function beliefSection(found, drawn) {
  const section = made("section", "plate");
  section.setAttribute("aria-labelledby", "h-belief");
  const header = made("header");
  const title = made("h2", "", "What is likely wrong");
  title.id = "h-belief";
  header.append(title, made("p", "quiet", "Worked out on this phone."));
  const list = made("div", "causes");
  for (const cause of found.causes.slice(0, SHOWN_CAUSES)) {
    const line = made("div", "cause cause--plain");
    const words = made("span", "cause-words");
    words.append(made("b", "cause-chance", percent(cause.chance)), made("span", "cause-name", capital(cause.title)));
    line.append(...tubOf(drawn, cause.chance), words);
    list.append(line);
  }
  section.append(header, list);
  const left = found.leftOut;
  section.append(made("p", "quiet", `Causes not looked at are at most ${percent(left)} likely.`));
  return section;
}
