// Every step looked at one ahead, by money.

import { collapse, collapsed, entropyBits, phoneLeaf, phonePlan, siteLeaf, summed } from "./pocket-leaf.js";
import { openOptions } from "./pocket-options.js";

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

/** Expected cost from a belief on. */
export function leaf(where, belief, bitCost) {
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
  const now = collapse(p, where.here);
  const [checks, bitCost] = checkSteps(where, p, now);
  const remedies = remedySteps(where, p, now, bitCost);
  return [...checks, ...remedies, ...(where.phone === null ? [] : [visitStep(where, now, bitCost)])];
}

/** A step, and whether it pays: one that saves too little is put behind all that do. */
export function step(rules, kind, option, expectedCost, more = {}) {
  const made = { works: 0, ahead: 1, saves: Infinity, ...more };
  const { index, cost, minutes } = option;
  const pays = made.saves > rules.least_saving * cost;
  return { kind, index, cost, minutes, expectedCost, ...made, pays };
}

function times(list, factor) {
  const result = new Array(list.length);
  for (let i = 0; i < list.length; i++) result[i] = list[i] * factor;
  return result;
}

/**
 * Belief after every answer to a check, with its chance.
 *
 * Most rows are of the commonest kind: what the others differ by is added to the sums
 * over all rows as if every row were of that kind.
 */
function answers(options, check, p, whole) {
  const { said, kind, common, rest } = check;
  const size = said[0].length;
  const base = said[common];
  const main = [];
  const present = [];
  const total = new Float64Array(size);
  for (let o = 0; o < size; o++) {
    main.push(times(whole.main, base[o]));
    present.push(times(whole.present, base[o]));
    total[o] = whole.total * base[o];
  }
  for (let at = 0; at < rest.length; at++) {
    const row = rest[at];
    const mine = said[kind[row]];
    const set = options.now[row];
    for (let o = 0; o < size; o++) {
      const weight = p[row] * (mine[o] - base[o]);
      total[o] += weight;
      for (let i = 0; i < set.length; i++) {
        main[o][set[i]] += weight / set.length;
        present[o][set[i]] += weight;
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
  const now = collapse(p, options);
  const whole = summed(p, options);
  const found = options.checks.map((check) => answers(options, check, p, whole));
  return Math.min(...bitPrices(options, now, found));
}

/** All checks, and the least cost of a bit among them. */
function checkSteps(where, p, now) {
  const { checks, stopCost } = where.here;
  if (!checks.length) return [[], stopCost];
  const whole = summed(p, where.here);
  const found = checks.map((check) => answers(where.here, check, p, whole));
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
export function someLeft(set, clears) {
  if (!set.length) return 0;
  let log = 0;
  for (const cause of set) log += clears[cause] ? Math.max(Math.log(clears[cause]), -60) : -60;
  return 1 - Math.exp(log);
}

/** A remedy done: P(the re-run fails), P(it passes with a cause left), belief if it fails. */
export function tried(options, p, clears, shown) {
  let fails = 0;
  let hidden = 0;
  for (let row = 0; row < p.length; row++) {
    const left = someLeft(options.now[row], clears) * p[row];
    fails += options.shows[row] * left;
    hidden += (1 - options.shows[row]) * left;
  }
  const main = shown.main.slice();
  const present = shown.present.slice();
  let held = 0;
  for (let i = 0; i < options.n; i++) {
    main[i] *= 1 - clears[i];
    present[i] *= (1 - clears[i]) / Math.max(fails, 1e-300);
    held += main[i];
  }
  for (let i = 0; i < options.n; i++) main[i] /= Math.max(held, 1e-300);
  return { fails, hidden, belief: { main, present, sound: 0, bits: undefined } };
}

/** Sums over rows of the chance that the trouble is there and shows on a run. */
export function shownSums(options, p) {
  return summed(p.map((one, row) => one * options.shows[row]), options);
}

/** All remedies and referrals, their failed re-runs valued. */
function remedySteps(where, p, now, bitCost) {
  const { here } = where;
  const found = [...here.remedies.map((r) => ["remedy", r]), ...here.refers.map((r) => ["refer", r])];
  if (!found.length) return [];
  const shown = shownSums(here, p);
  const nothing = tried(here, p, new Float64Array(here.n), shown);
  return found.map(([kind, option], number) => {
    const tries = tried(here, p, option.clears, shown);
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
