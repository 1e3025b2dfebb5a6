// Looking two steps ahead, for the steps that look best one ahead.

import { collapse, phonePlan } from "./pocket-leaf.js";
import { fewerRows, withoutFinding, withoutRemedy } from "./pocket-options.js";
import { enoughRows, heaviest } from "./pocket-rows.js";
import { leaf, oneStep, placeOf, shownSums, someLeft, step, tried } from "./pocket-steps.js";

/** @typedef {import("./pocket-steps.js").Step} Step */

/** Those that pay first, then by expected total cost. */
function byCost(a, b) {
  return (
    Number(!a.pays) - Number(!b.pays) ||
    a.expectedCost - b.expectedCost ||
    (a.kind < b.kind ? -1 : a.kind > b.kind ? 1 : a.index - b.index)
  );
}

/**
 * Steps by expected total cost, two steps ahead for the best dozen if there is time.
 *
 * @param {any} job
 * @param {() => boolean} late whether to stop looking further
 * @param {number} most look at this many of the likeliest rows alone
 * @returns {{steps: Step[], ahead: number}}
 */
export function bestSteps(job, late, most) {
  const { rules } = job;
  const all = job.belief();
  const belief = all.p.length > most ? heaviest(all, most) : enoughRows(all, rules);
  const heavy = heaviest(belief, rules.ahead_rows);
  const where = placeOf(job, belief, heavy);
  const ends = job.endings.map(([kind, index, cost]) =>
    step(rules, kind, { index, cost, minutes: 0 }, cost),
  );
  const steps = [...oneStep(where, belief.p), ...ends].sort(byCost);
  const small = narrowed(where, belief, rules.ahead_rows);
  const front = [];
  for (const one of steps.slice(0, rules.ahead_steps).filter((found) => found.pays)) {
    if (late()) return { steps, ahead: 1 };
    front.push(twoStep(small, heavy.p, one, rules));
  }
  const later = steps.slice(rules.ahead_steps).filter((one) => one.pays);
  const idle = steps.filter((one) => !one.pays);
  return { steps: [...front.sort(byCost), ...later, ...idle], ahead: 2 };
}

/** The same place over the heaviest rows of the belief. */
function narrowed(where, belief, count) {
  const order = Array.from(belief.p, (_, row) => row);
  order.sort((a, b) => belief.p[b] - belief.p[a] || a - b);
  const here = fewerRows(where.here, order.slice(0, count));
  return { ...where, here, phone: where.phone && { ...where.phone, phone: here } };
}

function twoStep(where, p, one, rules) {
  const { here } = where;
  let value = one.expectedCost;
  if (one.kind === "check") {
    value = checkAhead(where, p, here.checks.find((c) => c.index === one.index), rules);
  } else if (one.kind === "remedy" || one.kind === "refer") {
    const list = one.kind === "remedy" ? here.remedies : here.refers;
    const option = list.find((r) => r.index === one.index);
    value = remedyAhead(where, afterRemedy(where, option, one.kind), p, option, rules);
  } else if (one.kind === "visit") {
    const site = { ...where, here: where.phone.site, phone: null };
    value = here.visitCost + cheapest(site, p);
  } else return one;
  return { ...one, expectedCost: value, ahead: 2 };
}

function afterRemedy(where, used, kind) {
  const here = withoutRemedy(where.here, used, kind);
  if (where.phone === null) return { ...where, here };
  return { ...where, here, phone: phonePlan(here, where.phone.site, where.phone.siteBitCost) };
}

function cheapest(where, p) {
  return oneStep(where, p).reduce((least, one) => Math.min(least, one.expectedCost), where.here.stopCost);
}

function checkAhead(where, p, check, rules) {
  const later = { ...where, here: withoutFinding(where.here, check.finding, check.index) };
  let value = check.cost;
  for (let o = 0; o < check.said[0].length; o++) {
    const weight = p.map((one, row) => one * check.said[check.kind[row]][o]);
    const chance = weight.reduce((sum, one) => sum + one, 0);
    if (chance > rules.least_branch) {
      value += chance * cheapest(later, weight.map((one) => one / chance));
    } else if (chance > 0) {
      value += chance * leaf(where, collapse(weight, where.here), where.here.stopCost);
    }
  }
  return value;
}

function remedyAhead(where, later, p, option, rules) {
  const tries = tried(where.here, p, option.clears, shownSums(where.here, p));
  const moved = movedRows(where.here, p, option).map((one, row) => one * where.here.shows[row]);
  const total = moved.reduce((sum, one) => sum + one, 0);
  const value = option.cost + where.callback * tries.hidden;
  if (tries.fails > rules.least_branch && total > 0)
    return value + tries.fails * cheapest(later, moved.map((one) => one / total));
  if (tries.fails > 0)
    return value + tries.fails * leaf(later, tries.belief, where.here.stopCost);
  return value;
}

/** Row weights after a remedy that did not end the trouble; a pair half cleared moves. */
function movedRows(options, p, option) {
  const { now } = options;
  const { clears } = option;
  const alone = new Map();
  now.forEach((set, row) => set.length === 1 && alone.set(set[0], row));
  const stays = now.map((set) => {
    let log = 0;
    for (const cause of set) log += Math.log1p(-Math.min(clears[cause], 1 - 1e-12));
    return Math.exp(log);
  });
  const moved = Float64Array.from(now, (set, row) => (someLeft(set, clears) > 0 ? p[row] * stays[row] : 0));
  now.forEach((set, row) => {
    if (set.length !== 2 || !(stays[row] < 1)) return;
    for (const [gone, left] of [set, [set[1], set[0]]])
      if (alone.has(left)) moved[alone.get(left)] += p[row] * clears[gone] * (1 - clears[left]);
  });
  return moved;
}
