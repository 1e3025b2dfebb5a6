// Answers as likelihood vectors over latent states; all reports of one state combined first.

import { groupedBy, seenRow } from "./pocket-model.js";

/**
 * @typedef {object} Evidence
 * @property {?Complaint} complaint
 * @property {?number} how_often 0 every time, 1 sometimes, 2 once
 * @property {number[][]} answers [check, outcome or -1, observer, remedies before, new look]
 * @property {Array<[number, number[]]>} settled [axis, likelihood of each value]
 * @property {Treatment[]} treatments
 *
 * @typedef {object} Complaint
 * @property {number[]} words P(said | first condition)
 * @property {number[]} reported conditions named, in their order
 * @property {?number[]} panel
 * @property {number} panel_none
 * @property {number[][]} symptoms [condition, P(said | on), P(said | off), observer, new look]
 *
 * @typedef {object} Treatment
 * @property {Float64Array} clears
 * @property {?number} rerun 0 fails, 1 works, null not run again
 */

/** P(said | state): rows sum to one. */
export function confusion(size, error, graded) {
  return Array.from({ length: size }, (_, i) => {
    const slip = new Float64Array(size);
    let total = 0;
    for (let j = 0; j < size; j++) {
      slip[j] = i === j ? 0 : graded ? 4 ** -Math.abs(i - j) : 1;
      total += slip[j];
    }
    let wrong = 0;
    for (let j = 0; j < size; j++) {
      slip[j] *= error / Math.max(total, 1e-300);
      wrong += slip[j];
    }
    slip[i] = 1 - wrong;
    return slip;
  });
}

/** P(an answer of a new look | state, the last answer). */
function repeated(model, fresh, same) {
  const echo = model.repeat_errs_same;
  return fresh.map((one) => (same ? echo : 0) + (1 - echo) * one);
}

/** P(all these answers | state) for one finding or axis. */
function answerVector(model, answers, size, graded) {
  const result = new Float64Array(size).fill(1);
  const last = new Map();
  const given = new Map();
  for (const [check, outcome, observer, , again] of answers) {
    if (outcome < 0) continue;
    const place = `${observer} ${check}`;
    const before = last.get(observer);
    const table = confusion(size, model.checks[check].error[observer], graded);
    const fresh = table.map((row) => row[outcome]);
    let news = null;
    if (before === undefined) news = fresh;
    else if (again || outcome !== given.get(place)) news = repeated(model, fresh, outcome === before);
    if (news) news.forEach((one, state) => (result[state] *= one));
    last.set(observer, outcome);
    given.set(place, outcome);
  }
  return result;
}

/** How many remedies before an epoch touch causes that alter the finding. */
export function touchedBefore(model, evidence, finding, epoch) {
  const touched = model.findings[finding].touched;
  return evidence.treatments
    .slice(0, epoch)
    .filter((treatment) => touched.some((cause) => treatment.clears[cause] !== 0)).length;
}

/** Answers by finding, and by the remedies that touch what it shows, each as one vector. */
export function looks(model, evidence) {
  const groups = new Map();
  for (const answer of evidence.answers) {
    const finding = model.checks[answer[0]].finding;
    if (finding < 0) continue;
    const segment = touchedBefore(model, evidence, finding, answer[3]);
    const key = `${finding} ${segment}`;
    if (!groups.has(key)) groups.set(key, { finding, segment, epoch: answer[3], answers: [] });
    groups.get(key).answers.push(answer);
  }
  return [...groups.values()].map((look) => {
    const shape = model.findings[look.finding];
    const vector = answerVector(model, look.answers, shape.healthy.length, shape.graded);
    return { ...look, likelihood: vector };
  });
}

/** Adds log P(answers on one finding | row) to `log`. */
export function addLook(model, look, rows, log) {
  const finding = model.findings[look.finding];
  const { inside, index } = groupedBy(finding, rows.states[look.epoch]);
  const chance = inside.map((here) => {
    const row = seenRow(finding, here);
    let total = 0;
    for (let o = 0; o < row.length; o++) total += row[o] * look.likelihood[o];
    return Math.log(total);
  });
  for (let row = 0; row < log.length; row++) log[row] += chance[index[row]];
}

/** Likelihood of the values of each variant axis. */
export function axisVectors(model, evidence) {
  return model.axes.map((axis, number) => {
    const size = axis.shares.length;
    const answers = evidence.answers.filter((answer) => model.checks[answer[0]].axis === number);
    const vector = answerVector(model, answers, size, false);
    for (const [settled, likelihood] of evidence.settled)
      if (settled === number) likelihood.forEach((one, value) => (vector[value] *= one));
    return vector;
  });
}

/** [condition, P(all reports of it | on), P(... | off)], each condition once. */
export function symptomReports(model, complaint) {
  const chances = new Map();
  const last = new Map(complaint.reported.map((named) => [`${named} 0`, true]));
  for (const [condition, on, off, observer, again] of complaint.symptoms) {
    if (on === off) continue;
    const said = on > off;
    const place = `${condition} ${observer}`;
    const before = last.get(place);
    if (before !== undefined && said === before && !again) continue;
    const fresh = before === undefined ? [on, off] : repeated(model, [on, off], said === before);
    const held = chances.get(condition) ?? [1, 1];
    chances.set(condition, [held[0] * fresh[0], held[1] * fresh[1]]);
    last.set(place, said);
  }
  return [...chances].map(([condition, [on, off]]) => [condition, on, off]);
}
