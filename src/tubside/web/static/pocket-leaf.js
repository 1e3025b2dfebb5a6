// What it costs from here, estimated without looking further ahead.

/**
 * @typedef {object} Collapsed a belief by cause
 * @property {Float64Array} main share of each cause as the main one
 * @property {Float64Array} present chance that each is there
 * @property {number} sound chance that the machine is sound
 */

/** Doubt about what to do [bit]. */
export function entropyBits(belief) {
  let total = 0;
  for (const one of belief.main) if (one > 0) total -= one * Math.log2(one);
  if (belief.sound > 0) total -= belief.sound * Math.log2(belief.sound);
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
  return { main, present, sound: Math.min(Math.max(1 - held, 0), 1) };
}

/** A belief by cause from the weight of each row, and the total weight. */
export function collapse(weights, options) {
  const main = new Float64Array(options.n);
  const present = new Float64Array(options.n);
  let total = 0;
  options.now.forEach((set, row) => {
    const weight = weights[row];
    total += weight;
    for (const cause of set) {
      main[cause] += weight / set.length;
      present[cause] += weight;
    }
  });
  return [collapsed(main, present, total), total];
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

/** Cost of trying the remedies in order of chance over cost, ending where that is cheaper. */
function byChanceOverCost(options, belief, own) {
  const size = own.price.length;
  if (!size) return options.stopCost;
  const chance = new Float64Array(size);
  const later = new Float64Array(size);
  for (let i = 0; i < belief.main.length; i++) {
    const group = own.group[i];
    if (group < 0) continue;
    chance[group] += belief.main[i];
    later[group] += belief.main[i] * own.later[i];
  }
  const rank = Float64Array.from(chance, (p, u) => -p / (own.price[u] + later[u] / Math.max(p, 1e-300)));
  const order = Array.from(rank, (_, u) => u).sort((a, b) => rank[a] - rank[b] || a - b);
  order.length = Math.min(order.length, options.rules.tried_in_order);
  const before = [1];
  let held = 0;
  for (const u of order) before.push(Math.max(1 - belief.sound - (held += chance[u]), 0));
  let value = options.stopCost * before[order.length];
  for (let step = order.length - 1; step >= 0; step--) {
    const u = order[step];
    const spend = own.price[u] * before[step] + later[u];
    value = Math.min(options.stopCost * before[step], spend + value);
  }
  return value;
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
  const chance = plan.ways.map((way) => dot(belief.main, way.clears));
  const pays = chance.map((p, way) => way !== used && p * visit > plan.ways[way].cost);
  const rank = chance.map((p, way) => -p / plan.ways[way].cost);
  const order = chance.map((_, way) => way).sort((a, b) => rank[a] - rank[b] || a - b);
  let spent = 0;
  let held = 0;
  const stays = new Float64Array(n);
  for (const way of order) {
    if (!pays[way]) continue;
    spent += plan.ways[way].cost * Math.max(1 - held, 0);
    held += chance[way];
    const { clears } = plan.ways[way];
    for (let i = 0; i < n; i++)
      if (clears[i]) stays[i] += Math.log1p(-Math.min(clears[i], 1 - 1e-12));
  }
  const main = new Float64Array(n);
  const present = new Float64Array(n);
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
