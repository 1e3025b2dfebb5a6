// What it costs from here, estimated without looking further ahead.

/**
 * @typedef {object} Collapsed a belief by cause
 * @property {number[]} main share of each cause as the main one
 * @property {number[]} present chance that each is there
 * @property {number} sound chance that the machine is sound
 */

/** Doubt about what to do [bit]; kept with the belief. */
export function entropyBits(belief) {
  if (belief.bits !== undefined) return belief.bits;
  let total = 0;
  const { main, sound } = belief;
  for (let i = 0; i < main.length; i++) if (main[i] > 0) total -= main[i] * Math.log2(main[i]);
  if (sound > 0) total -= sound * Math.log2(sound);
  belief.bits = total;
  return total;
}

/** A belief from sums over rows of weight times share and weight times member. */
export function collapsed(main, present, total) {
  const scale = Math.max(total, 1e-300);
  let held = 0;
  for (let i = 0; i < main.length; i++) {
    main[i] /= scale;
    present[i] /= scale;
    held += main[i];
  }
  return { main, present, sound: Math.min(Math.max(1 - held, 0), 1), bits: undefined };
}

/** Plain arrays: a browser makes and clears away small ones far quicker than typed ones. */
export function zeros(n) {
  const all = new Array(n);
  for (let i = 0; i < n; i++) all[i] = 0;
  return all;
}

/** Sums over rows of the weight, times share and times member. */
export function summed(weights, options) {
  const main = zeros(options.n);
  const present = zeros(options.n);
  let total = 0;
  for (let row = 0; row < weights.length; row++) {
    const weight = weights[row];
    const set = options.now[row];
    total += weight;
    for (let i = 0; i < set.length; i++) {
      main[set[i]] += weight / set.length;
      present[set[i]] += weight;
    }
  }
  return { main, present, total };
}

/** A belief by cause from the weight of each row. */
export function collapse(weights, options) {
  const { main, present, total } = summed(weights, options);
  return collapsed(main, present, total);
}

function dot(a, b) {
  let total = 0;
  for (let i = 0; i < a.length; i++) total += a[i] * b[i];
  return total;
}

/** Expected cost from here on site. */
export function siteLeaf(options, belief, bitCost, own = options.own) {
  const known = dot(belief.present, own.cost) + bitCost * entropyBits(belief);
  return Math.min(byChanceOverCost(options, belief, own), known, options.stopCost);
}

/** For each number of remedies, the order that was best last: the next one is much like it. */
const orders = new Map();
const chance = new Float64Array(256);
const later = new Float64Array(256);
const rank = new Float64Array(256);
const before = new Float64Array(256);

/** Cost of trying the remedies in order of chance over cost, ending where that is cheaper. */
function byChanceOverCost(options, belief, own) {
  const size = own.price.length;
  if (!size) return options.stopCost;
  chance.fill(0, 0, size);
  later.fill(0, 0, size);
  const { main, sound } = belief;
  for (let i = 0; i < main.length; i++) {
    const group = own.group[i];
    if (group < 0) continue;
    chance[group] += main[i];
    later[group] += main[i] * own.later[i];
  }
  const order = ranked(own.price, size);
  const count = Math.min(size, options.rules.tried_in_order);
  let held = 0;
  before[0] = 1;
  for (let step = 0; step < count; step++) {
    held += chance[order[step]];
    before[step + 1] = Math.max(1 - sound - held, 0);
  }
  let value = options.stopCost * before[count];
  for (let step = count - 1; step >= 0; step--) {
    const u = order[step];
    const spend = own.price[u] * before[step] + later[u];
    value = Math.min(options.stopCost * before[step], spend + value);
  }
  return value;
}

/** Remedies by chance over cost, best first; equal ones by number. */
function ranked(price, size) {
  let order = orders.get(size);
  if (!order) orders.set(size, (order = Int32Array.from({ length: size }, (_, u) => u)));
  for (let u = 0; u < size; u++)
    rank[u] = -chance[u] / (price[u] + later[u] / Math.max(chance[u], 1e-300));
  for (let step = 1; step < size; step++) {
    const u = order[step];
    const mine = rank[u];
    let at = step;
    while (at > 0 && (rank[order[at - 1]] > mine || (rank[order[at - 1]] === mine && order[at - 1] > u)))
      order[at] = order[--at];
    order[at] = u;
  }
  return order;
}

/**
 * What the phone leaf needs: both places, and the cost of a known cause by phone.
 *
 * @returns {{phone: any, site: any, siteBitCost: number, known: Float64Array,
 *   knownAfter: Float64Array[], ways: any[]}}
 */
export function phonePlan(phone, site, siteBitCost) {
  const ways = [...phone.remedies, ...phone.refers];
  const visit = site.own.cost.map((one) => phone.visitCost + one);
  const byPhone = ways.map((way) =>
    visit.map((one, i) => Math.min(way.cost + (1 - way.clears[i]) * one, phone.stopCost)),
  );
  byPhone.push(visit.map((one) => Math.min(one, phone.stopCost)));
  const [least, second, who] = leastTwo(byPhone, phone.n);
  const knownAfter = byPhone.map((_, row) =>
    least.map((one, i) => (row < ways.length && who[i] === row ? second[i] : one)),
  );
  return { phone, site, siteBitCost, known: least, knownAfter, ways };
}

/** For each cause the least of the rows, the least of the others, and which row it is. */
function leastTwo(rows, n) {
  const least = new Float64Array(n).fill(Infinity);
  const second = new Float64Array(n).fill(Infinity);
  const who = new Int32Array(n).fill(-1);
  rows.forEach((row, number) => {
    for (let i = 0; i < n; i++) {
      if (row[i] < least[i]) {
        second[i] = least[i];
        least[i] = row[i];
        who[i] = number;
      } else if (row[i] < second[i]) second[i] = row[i];
    }
  });
  return [least, second, who];
}

/** Expected cost from here while still on the phone; `used` is a way used up, or -1. */
export function phoneLeaf(plan, belief, bitCost, used = -1) {
  const visit = plan.phone.visitCost + siteLeaf(plan.site, belief, plan.siteBitCost);
  const bit = Math.min(bitCost, plan.siteBitCost);
  const cost = used < 0 ? plan.known : plan.knownAfter[used];
  const known = dot(belief.present, cost) + bit * entropyBits(belief);
  const best = Math.min(visit, known, plan.phone.stopCost);
  return plan.ways.length ? Math.min(best, phoneTries(plan, belief, visit, used)) : best;
}

/** Cost of trying by phone every remedy that pays, then a visit. */
function phoneTries(plan, belief, visit, used) {
  const n = belief.main.length;
  const ends = plan.ways.map((way) => dot(belief.main, way.clears));
  const pays = (way) => way !== used && ends[way] * visit > plan.ways[way].cost;
  const worth = ends.map((p, way) => -p / plan.ways[way].cost);
  const order = ends.map((_, way) => way).filter(pays);
  order.sort((a, b) => worth[a] - worth[b] || a - b);
  let spent = 0;
  let held = 0;
  const stays = zeros(n);
  for (const way of order) {
    spent += plan.ways[way].cost * Math.max(1 - held, 0);
    held += ends[way];
    const { clears } = plan.ways[way];
    for (let i = 0; i < n; i++)
      if (clears[i]) stays[i] += Math.log1p(-Math.min(clears[i], 1 - 1e-12));
  }
  const main = zeros(n);
  const present = zeros(n);
  let left = belief.sound;
  for (let i = 0; i < n; i++) {
    const stay = Math.exp(stays[i]);
    main[i] = belief.main[i] * stay;
    present[i] = belief.present[i] * stay;
    left += main[i];
  }
  const scale = Math.max(left, 1e-300);
  for (let i = 0; i < n; i++) {
    main[i] /= scale;
    present[i] /= scale;
  }
  const rest = { main, present, sound: belief.sound / scale };
  const there = Math.min(byChanceOverCost(plan.site, rest, plan.site.own), plan.phone.stopCost);
  return spent + left * (plan.phone.visitCost + there);
}
