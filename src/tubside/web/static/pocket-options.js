// The steps open now, each as what it costs and what it does to a belief.

import { axisVectors, confusion, looks, touchedBefore } from "./pocket-evidence.js";
import { grouped, groupedBy, seenRow } from "./pocket-model.js";
import { ownCosts } from "./pocket-costs.js";
import { axisMass } from "./pocket-rows.js";
import {
  CUSTOMER, TECHNICIAN, coverMinutes, mayCheck, mayRemedy, minuteCost, partsCost,
} from "./pocket-situation.js";


/**
 * @typedef {object} CheckOption
 * @property {number} index
 * @property {number} cost
 * @property {number} minutes
 * @property {number} finding what it looks at
 * @property {number[][]} said P(said | kind of row), the last one "could not look"
 * @property {ArrayLike<number>} kind kind of each row
 * @property {number} common the commonest kind
 * @property {number[]} rest rows of the other kinds
 *
 * @typedef {object} RemedyOption
 * @property {number} index
 * @property {number} cost
 * @property {number} minutes
 * @property {Float64Array} clears
 */

/** Everything open in a situation, over the rows of a belief. */
export function openOptions(job, belief, situation) {
  const { model, rules } = job;
  const vectors = axisVectors(model, job.evidence);
  const remedies = openRemedies(job, situation, vectors);
  const refers = model.stops.flatMap((stop, index) =>
    stop.kind === "refer" ? [{ index, cost: stop.cost, minutes: 0, clears: ones(stop.clears, model.n) }] : [],
  );
  const after = { shows: model.shows, stop: job.stopCost, callback: model.costs.callback };
  const now = belief.rows.now;
  return {
    n: model.n,
    now,
    shows: Float64Array.from(now, (set) => showing(model, set)),
    checks: openChecks(job, belief, situation, vectors),
    remedies,
    refers,
    after,
    ...ownCosts([...remedies, ...refers], model.n, after),
    visitCost: situation.onSite ? 0 : model.costs.visit,
    stopCost: job.stopCost,
    rules,
  };
}

function ones(places, n) {
  const all = new Float64Array(n);
  for (const place of places) all[place] = 1;
  return all;
}

/** Chance that something of the set shows on one run. */
export function showing(model, set) {
  let quiet = 0;
  for (const cause of set) quiet += model.logQuiet[cause];
  return 1 - Math.exp(quiet);
}

/** The same steps over some of the rows. */
export function fewerRows(options, keep) {
  return {
    ...options,
    now: keep.map((row) => options.now[row]),
    shows: Float64Array.from(keep, (row) => options.shows[row]),
    checks: options.checks.map((check) => ({ ...check, ...kinds(check.said, keep.map((row) => check.kind[row])) })),
  };
}

/** The kind of each row, the commonest one, and the rows of the others. */
function kinds(said, kind) {
  const count = new Int32Array(said.length);
  for (let row = 0; row < kind.length; row++) count[kind[row]] += 1;
  const common = count.indexOf(count.reduce((most, one) => Math.max(most, one), 0));
  const rest = [];
  for (let row = 0; row < kind.length; row++) if (kind[row] !== common) rest.push(row);
  return { kind, common, rest };
}

/** Options after a look at one finding: nobody looks at it again at once. */
export function withoutFinding(options, finding, index) {
  const kept = (check) => check.index !== index && (finding < 0 || check.finding !== finding);
  return { ...options, checks: options.checks.filter(kept) };
}

/** Options after a remedy or a referral was used up. */
export function withoutRemedy(options, used, kind) {
  const others = (list) => list.filter((one) => one.index !== used.index);
  const remedies = kind === "remedy" ? others(options.remedies) : options.remedies;
  const refers = kind === "remedy" ? options.refers : others(options.refers);
  const costs = ownCosts([...remedies, ...refers], options.n, options.after);
  return { ...options, remedies, refers, ...costs };
}

/** Checks, those that read a number from their tables. */
function openChecks(job, belief, situation, vectors) {
  const { model, rules } = job;
  const observer = situation.onSite ? TECHNICIAN : CUSTOMER;
  const minute = minuteCost(model, situation.onSite);
  const values = valuesBelieved(model, vectors, belief);
  const first = firstBelieved(model, belief);
  const told = looks(model, job.evidence);
  const saw = new Set();
  model.checks.forEach((_, number) => {
    if (situation.answered.has(`${number} ${TECHNICIAN}`)) saw.add(model.seenAs[number]);
  });
  const found = [];
  model.checks.forEach((check, number) => {
    const looked = model.seenAs[number];
    if ((looked >= 0 && saw.has(looked)) || !mayCheck(situation, number, check)) return;
    const chance = applies(values, check.needs) * runs(model, first, check.stage);
    if (chance < rules.least_applies) return;
    const table =
      check.reads === null
        ? saidTable(job, belief, check, observer, told, vectors)
        : readTable(job, belief, number, observer);
    if (table === null) return;
    const usable = chance * (1 - rules.cannot_look[observer]);
    const said = table.said.map((row) => withLost(row, usable));
    const minutes = check.minutes + coverMinutes(model, check.cover, situation);
    const option = { index: number, cost: minutes * minute, minutes, finding: looked, said };
    found.push({ ...option, ...kinds(said, table.kind) });
  });
  return found;
}

/** The answers where one can look, and "could not look" as the last one. */
function withLost(row, usable) {
  const result = [];
  for (let o = 0; o < row.length; o++) result.push(row[o] * usable);
  result.push(1 - usable);
  return result;
}

function timesLooks(row, looked) {
  const result = Array.from(row);
  for (const look of looked) for (let o = 0; o < result.length; o++) result[o] *= look.likelihood[o];
  return result;
}

/** P(said | row, what was already said of the same finding). */
function saidTable(job, belief, check, observer, told, vectors) {
  const { model, evidence } = job;
  let states;
  let kind;
  let graded = false;
  if (check.finding < 0) {
    const axis = model.axes[check.axis];
    const groups = grouped(axis.place, belief.rows.states[0]);
    kind = groups.index;
    states = groups.inside.map((inside) => {
      const mass = axisMass(axis, inside.map((place) => axis.members[place]));
      return mass.map((one, value) => one * axis.shares[value] * vectors[check.axis][value]);
    });
  } else {
    const finding = model.findings[check.finding];
    const groups = groupedBy(finding, belief.rows.now);
    kind = groups.index;
    graded = finding.graded;
    const today = touchedBefore(model, evidence, check.finding, evidence.treatments.length);
    const same = told.filter((look) => look.finding === check.finding && look.segment === today);
    states = groups.inside.map((inside) => {
      const row = seenRow(finding, inside);
      return same.length ? timesLooks(row, same) : row;
    });
  }
  return { kind, said: answered(states, check.error[observer], graded) };
}

/** States made to sum to one, and told with the observer's errors. */
function answered(states, error, graded) {
  const size = states[0].length;
  const told = confusion(size, error, graded);
  return states.map((state) => {
    let total = 0;
    for (let i = 0; i < size; i++) total += state[i];
    const row = [];
    for (let o = 0; o < size; o++) {
      let chance = 0;
      for (let i = 0; i < size; i++)
        chance += (total > 0 ? state[i] / total : 1 / size) * told[i][o];
      row.push(chance);
    }
    return row;
  });
}

/** The bins of a reading; null where its table does not hold any more. */
function readTable(job, belief, number, observer) {
  const table = job.openTables().find((one) => one.check === number && one.observer === observer);
  if (!table) return null;
  const index = job.readings.indexes[table.said.index];
  return { said: table.said.rows, kind: Array.from(belief.rows.parent, (row) => index[row]) };
}

/** P(value) of each variant axis, in the light of the belief. */
function valuesBelieved(model, vectors, belief) {
  return model.axes.map((axis, number) => {
    const believed = axis.shares.map(() => 0);
    belief.rows.states[0].forEach((set, row) => {
      const mass = axisMass(axis, set);
      const weight = mass.map((one, v) => one * axis.shares[v] * vectors[number][v]);
      const total = weight.reduce((sum, one) => sum + one, 0);
      if (total > 0) weight.forEach((one, v) => (believed[v] += (belief.p[row] * one) / total));
    });
    return believed;
  });
}

/** P(this machine has the variants that a step needs). */
function applies(values, needs) {
  let chance = 1;
  for (const [axis, allowed] of needs)
    chance *= values[axis].reduce((sum, one, v) => sum + (allowed[v] ? one : 0), 0);
  return chance;
}

/** P(first condition | all facts). */
function firstBelieved(model, belief) {
  const first = new Float64Array(model.logNotLeak.length);
  belief.terms.forEach((terms, row) => {
    let total = 0;
    for (const one of terms) total += one;
    for (let c = 0; c < first.length; c++) first[c] += (belief.p[row] * terms[c]) / Math.max(total, 1e-300);
  });
  return first;
}

/** P(a stage can be run on this machine now). */
function runs(model, first, stage) {
  if (stage < 0 || model.gates === null) return 1;
  const { stopping, stage: at } = model.complaint;
  let shut = 0;
  for (let c = 0; c < first.length; c++)
    if (stopping[c] && model.gates[at[c]] && at[c] < stage) shut += first[c];
  return 1 - shut;
}

function openRemedies(job, situation, vectors) {
  const { model } = job;
  const observer = situation.onSite ? TECHNICIAN : CUSTOMER;
  const found = [];
  model.remedies.forEach((remedy, number) => {
    if (!mayRemedy(situation, number, remedy)) return;
    const clears = new Float64Array(model.n);
    for (const [cause, chance] of remedy.clears[observer])
      clears[cause] = chance * appliesIfThere(model, vectors, remedy.needs, cause);
    if (!clears.some((one) => one !== 0)) return;
    const minutes =
      remedy.minutes + remedy.rerun_minutes + coverMinutes(model, remedy.cover, situation);
    const cost = minutes * minuteCost(model, situation.onSite) + partsCost(model, remedy, situation);
    found.push({ index: number, cost, minutes, clears });
  });
  return found;
}

/** P(the variants that a step needs | the cause is there). */
function appliesIfThere(model, vectors, needs, cause) {
  let chance = 1;
  for (const [number, allowed] of needs) {
    const axis = model.axes[number];
    const place = axis.place[cause];
    let total = 0;
    let fit = 0;
    axis.shares.forEach((share, v) => {
      const weight = share * vectors[number][v] * (place >= 0 ? axis.applies[place][v] : 1);
      total += weight;
      if (allowed[v]) fit += weight;
    });
    chance *= total > 0 ? fit / total : 0;
  }
  return chance;
}
