// The next step: every step looked at one ahead, the best dozen two ahead, by money.

import { collapse, collapsed, entropyBits, phoneLeaf, phonePlan, siteLeaf } from "./pocket-leaf.js";
import { fewerRows, openOptions, withoutFinding, withoutRemedy } from "./pocket-options.js";
import { enoughRows, heaviest } from "./pocket-rows.js";

/**
 * @typedef {object} Step
 * @property {string} kind check, remedy, refer, visit, scrap or return
 * @property {number} index
 * @property {number} cost
 * @property {number} minutes
 * @property {number} expectedCost of the job if this comes next
 * @property {number} works chance that a remedy ends trouble that is there
 * @property {number} ahead how many steps were looked at
 * @property {number} saves what it is worth before its own cost
 * @property {boolean} pays whether that is more than half its cost
 */

/** Where the next step happens: on site, or on the phone with a visit to come. */
export function placeOf(job, belief, heavy) {
  const { situation } = job;
  const here = openOptions(job, belief, situation);
  const callback = job.model.costs.callback;
  if (situation.onSite) return { here, phone: null, callback };
  const there = { ...situation, onSite: true, covers: new Set() };
  const site = openOptions(job, heavy, there);
  return { here, phone: phonePlan(here, site, leastBitPrice(site, heavy.p)), callback };
}

function leaf(where, belief, bitCost) {
  return where.phone === null
    ? siteLeaf(where.here, belief, bitCost)
    : phoneLeaf(where.phone, belief, bitCost);
}

/** The same after way `used` was used up; one past the last is none. */
function leafUsedUp(where, belief, bitCost, used) {
  return where.phone === null
    ? siteLeaf(where.here, belief, bitCost, where.here.ownAfter[used])
    : phoneLeaf(where.phone, belief, bitCost, used);
}

/** Every step but the endings, with the leaf after it. */
export function oneStep(where, p) {
  const [now] = collapse(p, where.here);
  const [checks, bitCost] = checkSteps(where, p, now);
  const remedies = remedySteps(where, p, now, bitCost);
  return [...checks, ...remedies, ...(where.phone === null ? [] : [visitStep(where, now, bitCost)])];
}

function step(rules, kind, option, expectedCost, more = {}) {
  const made = { works: 0, ahead: 1, saves: Infinity, ...more };
  const { index, cost, minutes } = option;
  const pays = made.saves > rules.least_saving * cost;
  return { kind, index, cost, minutes, expectedCost, ...made, pays };
}

/** Belief after every answer to a check, with its chance. */
function answers(options, check, p) {
  const size = check.said[0].length;
  const main = Array.from({ length: size }, () => new Float64Array(options.n));
  const present = Array.from({ length: size }, () => new Float64Array(options.n));
  const total = new Float64Array(size);
  for (let row = 0; row < p.length; row++) {
    const said = check.said[check.kind[row]];
    const set = options.now[row];
    for (let o = 0; o < size; o++) {
      const weight = p[row] * said[o];
      total[o] += weight;
      for (const cause of set) {
        main[o][cause] += weight / set.length;
        present[o][cause] += weight;
      }
    }
  }
  return main.map((one, o) => ({ chance: total[o], after: collapsed(one, present[o], total[o]) }));
}

/** Cost of a bit of doubt by each check, ending the job at most. */
function bitPrices(options, now, found) {
  const before = entropyBits(now);
  return options.checks.map((check, number) => {
    let doubt = 0;
    for (const { chance, after } of found[number]) doubt += chance * entropyBits(after);
    const gain = Math.max(before - doubt, 1e-300);
    return gain > options.rules.least_gain_bits ? Math.min(check.cost / gain, options.stopCost) : options.stopCost;
  });
}

/** Least cost of a bit of doubt by the checks open. */
function leastBitPrice(options, p) {
  if (!options.checks.length) return options.stopCost;
  const [now] = collapse(p, options);
  const found = options.checks.map((check) => answers(options, check, p));
  return Math.min(...bitPrices(options, now, found));
}

/** All checks, and the least cost of a bit among them. */
function checkSteps(where, p, now) {
  const { checks, stopCost } = where.here;
  if (!checks.length) return [[], stopCost];
  const found = checks.map((check) => answers(where.here, check, p));
  const prices = bitPrices(where.here, now, found);
  const best = prices.indexOf(Math.min(...prices));
  const { finding } = checks[best];
  const same = checks.map((check, n) => check.finding === finding && (finding >= 0 || n === best));
  const others = prices.reduce((least, one, n) => (same[n] ? least : Math.min(least, one)), stopCost);
  const before = [prices[best], others].map((price) => leaf(where, now, price));
  const steps = checks.map((check, n) => {
    const price = same[n] ? others : prices[best];
    let value = 0;
    for (const { chance, after } of found[n]) value += chance * leaf(where, after, price);
    return step(where.here.rules, "check", check, check.cost + value, {
      saves: before[same[n] ? 1 : 0] - value,
    });
  });
  return [steps, prices[best]];
}

/** P(some cause of the row is left) after a remedy. */
function someLeft(set, clears) {
  if (!set.length) return 0;
  let log = 0;
  for (const cause of set) log += clears[cause] ? Math.max(Math.log(clears[cause]), -60) : -60;
  return 1 - Math.exp(log);
}

/** A remedy done: P(the re-run fails), P(it passes with a cause left), belief if it fails. */
function tried(options, p, clears) {
  let fails = 0;
  let hidden = 0;
  const main = new Float64Array(options.n);
  const present = new Float64Array(options.n);
  options.now.forEach((set, row) => {
    const left = someLeft(set, clears) * p[row];
    const shown = p[row] * options.shows[row];
    fails += options.shows[row] * left;
    hidden += (1 - options.shows[row]) * left;
    for (const cause of set) {
      main[cause] += shown / set.length;
      present[cause] += shown;
    }
  });
  let held = 0;
  for (let i = 0; i < options.n; i++) {
    main[i] *= 1 - clears[i];
    present[i] *= (1 - clears[i]) / Math.max(fails, 1e-300);
    held += main[i];
  }
  for (let i = 0; i < options.n; i++) main[i] /= Math.max(held, 1e-300);
  return { fails, hidden, belief: { main, present, sound: 0 } };
}

/** All remedies and referrals, their failed re-runs valued. */
function remedySteps(where, p, now, bitCost) {
  const { here } = where;
  const found = [...here.remedies.map((r) => ["remedy", r]), ...here.refers.map((r) => ["refer", r])];
  if (!found.length) return [];
  const nothing = tried(here, p, new Float64Array(here.n));
  return found.map(([kind, option], number) => {
    const tries = tried(here, p, option.clears);
    const after = leafUsedUp(where, tries.belief, bitCost, number);
    const later = tries.fails * after + where.callback * tries.hidden;
    const works = Math.max(nothing.fails + nothing.hidden - (tries.fails + tries.hidden), 0);
    const otherwise = where.phone ? where.phone.knownAfter[number] : here.ownAfter[number].cost;
    let saves = 0;
    for (let i = 0; i < here.n; i++) saves += now.main[i] * option.clears[i] * otherwise[i];
    return step(here.rules, kind, option, option.cost + later, { works, saves });
  });
}

function visitStep(where, now, bitCost) {
  const { visitCost: cost, rules } = where.here;
  const value = cost + siteLeaf(where.phone.site, now, bitCost);
  return step(rules, "visit", { index: 0, cost, minutes: 0 }, value);
}

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
 * @returns {{steps: Step[], ahead: number}}
 */
export function bestSteps(job, late) {
  const { rules } = job;
  const belief = enoughRows(job.belief(), rules);
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
      value += chance * leaf(where, collapse(weight, where.here)[0], where.here.stopCost);
    }
  }
  return value;
}

function remedyAhead(where, later, p, option, rules) {
  const tries = tried(where.here, p, option.clears);
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
