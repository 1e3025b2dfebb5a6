// Belief and next step of one job on this phone, from what it took along of it.
//
// The same arithmetic as the server's over the same sets and facts (docs: offline reckoning).
// A fact that cannot be counted here waits, and nothing is reckoned until there is signal.

import { bestSteps } from "./pocket-ahead.js";
import { told } from "./pocket-facts.js";
import { modelOf } from "./pocket-model.js";
import { believe } from "./pocket-rows.js";

const VERSION = 1;

/** The numbers asked for need signal; `why` says for each fact that waits what is missing. */
export class NeedsSignal extends Error {
  /** @param {string[]} why */
  constructor(why) {
    super(`needs signal: ${why.join("; ")}`);
    this.name = "NeedsSignal";
    this.why = why;
  }
}

/** No set of causes that this phone knows allows all the facts. */
export class FactsDisagree extends NeedsSignal {
  constructor() {
    super(["the facts cannot all be true by what this phone knows"]);
    this.name = "FactsDisagree";
  }
}

/**
 * @typedef {object} Fact a fact as it is kept
 * @property {string} [id]
 * @property {{kind: string}} body its kind and coded values, as sent to the server
 */

/** One job as it stands on this phone. Nothing in it is changed in place. */
class Pocket {
  #memo = null;
  #open = null;

  /** @param {any} parts */
  constructor(parts) {
    Object.assign(this, parts);
  }

  /** Tables of readings that hold: no reading of their tie told, none of their causes treated. */
  openTables() {
    if (this.#open !== null) return this.#open;
    const ties = new Set(this.bins.map(([number]) => this.readings.tables[number].tie));
    const later = this.evidence.treatments.slice(this.before);
    const treated = (table) =>
      table.altered_by.some((cause) => later.some((one) => one.clears[cause] > 0));
    this.#open = this.readings.tables.filter((one) => !ties.has(one.tie) && !treated(one));
    return this.#open;
  }

  /** Belief, worked out when it is first asked for. */
  belief() {
    if (this.#memo === null) {
      const { model, rules, scale, evidence, sets, before } = this;
      const logs = (row) => this.readingsLog(row);
      this.#memo = believe(model, rules, scale, evidence, sets, before, logs);
    }
    if (this.#memo === null) throw new FactsDisagree();
    return this.#memo;
  }

  /** log P(what was read | row of the pocket). */
  readingsLog(row) {
    const { log, tables, indexes } = this.readings;
    let total = log === null ? 0 : log.rows[indexes[log.index][row]][0];
    for (const [number, bin] of this.bins) {
      const { said } = tables[number];
      total += Math.log(said.rows[indexes[said.index][row]][bin]);
    }
    return total;
  }
}

/**
 * Open what was taken along of a job.
 *
 * @param {any} json the answer of /jobs/{job}/pocket.json, parsed
 * @returns {Pocket}
 * @throws {NeedsSignal} where it holds nothing to reckon with, or is of another version
 */
export function openPocket(json) {
  if (json.version !== VERSION) throw new NeedsSignal(["this phone keeps another version"]);
  if (!json.ready) throw new NeedsSignal([json.why]);
  const model = modelOf(json.model);
  const evidence = { ...json.evidence, treatments: json.evidence.treatments.map((one) => treatment(one, model.n)) };
  return new Pocket({
    job: json.job,
    computedFrom: json.computed_from,
    safety: json.safety ?? [],
    model,
    rules: json.rules,
    sets: json.sets,
    scale: json.scale,
    evidence,
    before: evidence.treatments.length,
    start: { leftOut: json.left_out, logEvidence: json.log_evidence, evidence },
    readings: json.readings,
    bins: [],
    situation: situationOf(json.situation),
    observers: json.situation.observers,
    stopCost: json.stop_cost,
    endings: json.endings,
    finished: json.finished,
    closed: false,
    dangers: json.dangers,
    only: json.only,
    dangerRules: json.danger_rules,
    stop: [],
    told: json.told,
    words: json.words,
    waiting: [],
    facts: [],
    first: null,
  });
}

function treatment([clears, rerun], n) {
  const all = new Float64Array(n);
  for (const [cause, chance] of clears) all[cause] = chance;
  return { clears: all, rerun };
}

function situationOf(told) {
  const pairs = (list) => new Set(list.map(([index, who]) => `${index} ${who}`));
  return {
    onSite: told.on_site,
    aboard: told.aboard,
    covers: new Set(told.covers),
    answered: pairs(told.answered),
    tried: pairs(told.tried),
    customerChecks: told.customer_checks,
    customerRemedies: told.customer_remedies,
  };
}

/**
 * The job with one more fact. A fact that cannot be counted here is listed in `waiting`.
 *
 * @param {Pocket} pocket
 * @param {Fact} fact
 * @returns {Pocket}
 */
export function update(pocket, fact) {
  const first = pocket.first ?? pocket;
  if (fact.body.kind === "retract") return takenBack(pocket, first, fact);
  const { why, ...parts } = told(pocket, fact.body);
  const waiting = why ? [...pocket.waiting, { id: fact.id, why }] : pocket.waiting;
  return new Pocket({ ...pocket, ...parts, waiting, first, facts: [...pocket.facts, fact] });
}

/** A fact told on this phone is left out; another one's take-back waits for signal. */
function takenBack(pocket, first, fact) {
  const kept = pocket.facts.filter((one) => one.id !== fact.body.fact);
  if (fact.body.fact && kept.length < pocket.facts.length) return kept.reduce(update, first);
  const why = "a fact from before was taken back";
  return new Pocket({ ...pocket, first, waiting: [...pocket.waiting, { id: fact.id, why }] });
}

function ready(pocket) {
  if (pocket.waiting.length) throw new NeedsSignal(pocket.waiting.map((one) => one.why));
}

/**
 * P(each cause is there now), P(it was there at the call), both in the model's order.
 *
 * @param {Pocket} pocket
 * @returns {{now: Float64Array, atCall: Float64Array, healthy: number[], mended: number}}
 * @throws {NeedsSignal}
 */
export function marginals(pocket) {
  ready(pocket);
  const { rows, p } = pocket.belief();
  const now = new Float64Array(pocket.model.n);
  const atCall = new Float64Array(pocket.model.n);
  const healthy = [0, 0];
  let mended = 0;
  p.forEach((chance, row) => {
    for (const cause of rows.now[row]) now[cause] += chance;
    for (const cause of rows.states[0][row]) atCall[cause] += chance;
    const kind = pocket.sets.healthy[rows.owner[row]];
    if (kind >= 0) healthy[kind] += chance;
    else if (!rows.now[row].length) mended += chance;
  });
  return { now, atCall, healthy, mended };
}

/**
 * Every cause with its chance, and the two ways of there being none, likeliest first.
 *
 * @param {Pocket} pocket
 * @returns {{causes: Array<{id: string, title: string, chance: number}>, mended: number,
 *   leftOut: number}} chances of what is there now; after a re-run that passed, of what was
 * @throws {NeedsSignal}
 */
export function chances(pocket) {
  const { now, atCall, healthy, mended } = marginals(pocket);
  const { names } = pocket.model;
  const causes = Array.from(pocket.finished ? atCall : now, (chance, i) => ({
    id: names.causes[i],
    title: pocket.words.causes[i],
    chance,
  }));
  healthy.forEach((chance, i) =>
    causes.push({ id: pocket.words.healthy_ids[i], title: pocket.words.healthy[i], chance }),
  );
  causes.sort((a, b) => b.chance - a.chance || (a.id < b.id ? -1 : 1));
  return { causes, mended, leftOut: leftOut(pocket) };
}

/** Bound on the belief in sets left out: later facts make them no likelier than certain. */
export function leftOut(pocket) {
  ready(pocket);
  const { leftOut: share, logEvidence, evidence } = pocket.start;
  const named = evidence.complaint?.reported ?? [];
  const now = pocket.evidence.complaint?.reported ?? [];
  const anew = named.length > 0 && named.join() !== now.join();
  const often = evidence.how_often !== null && evidence.how_often !== pocket.evidence.how_often;
  if (anew || often || share >= 1) return 1;
  const left = (share / (1 - share)) * Math.exp(logEvidence - pocket.belief().logEvidence);
  return left / (1 + left);
}

/**
 * What to do next. A danger told on this phone ends all advice: there is `stop` alone.
 *
 * @param {Pocket} pocket
 * @param {number} [milliseconds] time for looking two steps ahead; 0 looks one ahead
 * @param {number} [most] look at this many of the likeliest sets of causes alone: quicker
 * @returns {{stop: Array<{danger: string, say: string}>, steps: Array<any>, ahead: number}}
 *   steps by expected cost; `ahead` is how many steps the order was looked at, `over` how many
 *   sets alone where that was cut down
 * @throws {NeedsSignal}
 */
export function nextSteps(pocket, milliseconds = 0, most = Infinity) {
  const stop = stopFirst(pocket);
  if (pocket.stop.length) return { stop, steps: [], ahead: 0 };
  ready(pocket);
  if (pocket.finished || pocket.closed) return { stop, steps: [], ahead: 0 };
  const until = performance.now() + milliseconds;
  const found = bestSteps(pocket, () => performance.now() >= until, most);
  const allowed = (step) => step.kind === "refer" && pocket.only.includes(step.index);
  const steps = pocket.only === null ? found.steps : found.steps.filter(allowed);
  const over = pocket.belief().p.length > most ? most : null;
  return { stop, steps: steps.map((step) => ({ ...step, ...tell(pocket, step) })), ahead: found.ahead, over };
}

/** What is said first once a danger is known; gas stands alone. */
function stopFirst(pocket) {
  const { say } = pocket.dangerRules;
  const known = Object.keys(say).filter((one) => pocket.dangers.includes(one) || pocket.stop.includes(one));
  const alone = known.includes("gas") ? ["gas"] : known;
  return alone.map((danger) => ({ danger, say: say[danger] }));
}

/** The words of a step: cautions first, then what to do. */
function tell(pocket, step) {
  const { words, model, situation } = pocket;
  if (step.kind === "visit") return { id: "book-visit", title: words.visit.title, cautions: [], do: words.visit.how, outcomes: [] };
  const kinds = { check: "checks", remedy: "remedies" };
  const list = kinds[step.kind] ?? "stops";
  const entry = words[list][step.index];
  const cautions = entry.cautions.map((id) => ({ id, ...words.cautions[id] }));
  const instructions = situation.onSite ? entry.how : (entry.say ?? entry.how);
  const outcomes = (entry.outcomes ?? []).map((id, i) => ({ id, title: entry.answers[i] }));
  const id = model.names[list][step.index];
  return { id, title: entry.title, cautions, do: instructions, outcomes, sheet: entry.sheet ?? [] };
}
