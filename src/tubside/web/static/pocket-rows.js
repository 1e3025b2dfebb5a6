// Sets of causes, what became of them through remedies, and the belief over them.

import { addLook, axisVectors, looks } from "./pocket-evidence.js";
import { complaintTerms, howOftenRow, rerunRow, silent } from "./pocket-complaint.js";

/**
 * @typedef {object} Rows
 * @property {number[][][]} states causes left in each row after 0, 1, ... remedies
 * @property {number[][]} now the last of them
 * @property {Float64Array} logPath
 * @property {Int32Array} owner set of each row
 * @property {Int32Array} parent row of the pocket that it came from
 *
 * @typedef {object} Belief
 * @property {Rows} rows
 * @property {Float64Array} p sums to one
 * @property {number} logEvidence
 */

/** Each set split by what every remedy may have cleared, in the order the server has. */
export function follow(sets, treatments, before) {
  const count = sets.members.length;
  let rows = {
    states: [sets.members],
    now: sets.members,
    logPath: new Float64Array(count),
    owner: Int32Array.from({ length: count }, (_, row) => row),
    parent: null,
  };
  treatments.forEach((treatment, number) => {
    if (number === before) rows.parent = Int32Array.from(rows.owner, (_, row) => row);
    rows = after(rows, treatment.clears);
  });
  rows.parent ??= Int32Array.from(rows.owner, (_, row) => row);
  return rows;
}

/** One remedy: each present cause it can clear is cleared or stays. */
function after(rows, clears) {
  let now = rows.now;
  let index = now.map((_, row) => row);
  let log = Array.from(rows.logPath);
  for (let cause = 0; cause < clears.length; cause++) {
    if (!clears[cause]) continue;
    const present = now.map((set) => set.includes(cause));
    const stays = clears[cause] < 1 ? index.map((_, row) => row).filter((row) => present[row]) : [];
    const kept = Math.log1p(-Math.min(clears[cause], 1 - 1e-15));
    const more = stays.map((row) => ({ set: now[row], from: index[row], log: log[row] + kept }));
    now = now.map((set, row) => (present[row] ? set.filter((one) => one !== cause) : set));
    log = log.map((one, row) => (present[row] ? one + Math.log(clears[cause]) : one));
    now = now.concat(more.map((one) => one.set));
    index = index.concat(more.map((one) => one.from));
    log = log.concat(more.map((one) => one.log));
  }
  return {
    states: [...rows.states.map((state) => index.map((row) => state[row])), now],
    now,
    logPath: Float64Array.from(log),
    owner: Int32Array.from(index, (row) => rows.owner[row]),
    parent: rows.parent && Int32Array.from(index, (row) => rows.parent[row]),
  };
}

/** Factor on the mass of a set if an axis has each value, before its share. */
export function axisMass(axis, set) {
  let log = 0;
  const mass = axis.shares.map(() => 1);
  for (const cause of set) {
    const place = axis.place[cause];
    if (place < 0) continue;
    log -= axis.logShare[place];
    axis.applies[place].forEach((allowed, value) => (mass[value] *= allowed));
  }
  const factor = Math.exp(log);
  return mass.map((one) => one * factor);
}

/** log P(set), answers on variants being part of it. */
function logPrior(model, scale, vectors, set, healthy) {
  let mass = 0;
  for (const cause of set) mass += model.logOdds[cause];
  for (const [i, j, factor] of model.prior.leads)
    if (set.includes(i) && set.includes(j)) mass += Math.log(factor);
  model.axes.forEach((axis, number) => {
    const each = axisMass(axis, set);
    let total = 0;
    each.forEach((one, value) => (total += one * axis.shares[value] * vectors[number][value]));
    mass += Math.log(total);
  });
  return healthy >= 0 ? mass + Math.log(model.prior.healthy[healthy]) : mass + scale;
}

/** The first condition of each row of a belief: terms of the complaint times re-runs. */
export function firstTerms(model, rules, evidence, sets, rows) {
  const complaint = evidence.complaint ?? silent(model);
  const { terms, offs } = complaintTerms(model, rules, complaint, sets);
  const results = evidence.treatments.map((treatment) => treatment.rerun);
  return Array.from(rows.owner, (set, row) => {
    if (!results.length) return terms[set];
    const again = rerunRow(model, rules, results, rows, row, offs[set], sets.healthy[set]);
    return again.map((one, c) => one * terms[set][c]);
  });
}

/** log P(complaint, re-runs and how often it was | row), added to `log`. */
function addComplaint(model, rules, evidence, sets, rows, log, terms) {
  const word = evidence.how_often;
  if (!evidence.complaint && !evidence.treatments.length && word === null) return;
  let often = null;
  if (word !== null) {
    const { offs } = complaintTerms(model, rules, silent(model), sets);
    often = sets.members.map((set, number) =>
      howOftenRow(model, rules, word, set, offs[number], sets.healthy[number]),
    );
  }
  for (let row = 0; row < log.length; row++) {
    const term = terms[row];
    const weight = often && often[rows.owner[row]];
    let total = 0;
    for (let c = 0; c < term.length; c++) total += weight ? term[c] * weight[c] : term[c];
    log[row] += Math.log(total);
  }
}

/**
 * Belief over the rows: multiply, normalise. Null when no row allows all the facts.
 *
 * @returns {?Belief}
 */
export function believe(model, rules, scale, evidence, sets, before, readingsLog) {
  const rows = follow(sets, evidence.treatments, before);
  const vectors = axisVectors(model, evidence);
  const prior = sets.members.map((set, number) =>
    logPrior(model, scale, vectors, set, sets.healthy[number]),
  );
  const log = rows.logPath.map((path, row) => path + prior[rows.owner[row]]);
  for (const look of looks(model, evidence)) addLook(model, look, rows, log);
  const terms = firstTerms(model, rules, evidence, sets, rows);
  addComplaint(model, rules, evidence, sets, rows, log, terms);
  for (let row = 0; row < log.length; row++) log[row] += readingsLog(rows.parent[row]);
  const top = log.reduce((most, one) => Math.max(most, one), -Infinity);
  if (!Number.isFinite(top)) return null;
  const p = log.map((one) => Math.exp(one - top));
  const total = p.reduce((sum, one) => sum + one, 0);
  return { rows, terms, p: p.map((one) => one / total), logEvidence: top + Math.log(total) };
}

/** The heaviest rows alone, heaviest first, their chances summing to one again. */
export function heaviest(belief, count) {
  const order = Array.from(belief.p, (_, row) => row);
  order.sort((a, b) => belief.p[b] - belief.p[a] || a - b);
  return chosen(belief, order.slice(0, count));
}

/** Some rows of a belief. */
export function chosen(belief, keep) {
  const { rows } = belief;
  const pick = (list) => keep.map((row) => list[row]);
  const total = keep.reduce((sum, row) => sum + belief.p[row], 0);
  return {
    rows: {
      states: rows.states.map(pick),
      now: pick(rows.now),
      logPath: Float64Array.from(pick(rows.logPath)),
      owner: Int32Array.from(pick(rows.owner)),
      parent: Int32Array.from(pick(rows.parent)),
    },
    terms: pick(belief.terms),
    p: Float64Array.from(keep, (row) => belief.p[row] / total),
    logEvidence: belief.logEvidence,
  };
}

/** The heaviest rows that hold nearly all belief, where there are many rows. */
export function enoughRows(belief, rules) {
  if (belief.p.length <= rules.few_rows) return belief;
  const sorted = Array.from(belief.p).sort((a, b) => b - a);
  let held = 0;
  let count = 0;
  while (count < sorted.length && held + sorted[count] < rules.enough_belief) held += sorted[count++];
  return heaviest(belief, Math.max(count + 1, rules.few_rows));
}
