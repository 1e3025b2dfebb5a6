// What it costs to clear each cause if it were known, each way of clearing done once at most.

/**
 * @typedef {object} OwnCosts
 * @property {Float64Array} cost cost of each cause if known, the best way first
 * @property {Float64Array} later the part of it met only if that way does not clear the cause
 * @property {Float64Array} price of each way that comes first for some cause
 * @property {Int32Array} group for which of those ways each cause waits, -1 for none
 */

/** Ways that clear a cause, the largest cost for a chance first. */
function worstFirst(ways, cause) {
  return ways
    .map((way, number) => [number, way.cost, way.clears[cause]])
    .filter((way) => way[2] !== 0)
    .sort((a, b) => b[1] / b[2] - a[1] / a[2] || a[0] - b[0]);
}

/** [cost of trying the ways one after the other, what of it comes later, the first way]. */
function chain(ways, shows, after, used) {
  let cost = after.stop;
  let later = 0;
  let first = -1;
  for (const [way, price, clears] of ways) {
    const rest = (1 - clears) * (shows * cost + (1 - shows) * after.callback);
    if (way !== used && price + rest < cost) {
      cost = price + rest;
      later = rest;
      first = way;
    }
  }
  return [cost, later, first];
}

/**
 * The costs now, and after each way in turn was used up (the last one: none).
 *
 * @returns {{own: OwnCosts, ownAfter: OwnCosts[]}}
 */
export function ownCosts(ways, n, after) {
  const byCause = Array.from({ length: n }, (_, cause) => worstFirst(ways, cause));
  const found = byCause.map((some, cause) => chain(some, after.shows[cause], after, -1));
  const first = found.map((one) => one[2]);
  const chosen = [...new Set(first.filter((way) => way >= 0))].sort((a, b) => a - b);
  const place = new Map(chosen.map((way, number) => [way, number]));
  const own = {
    cost: Float64Array.from(found, (one) => one[0]),
    later: Float64Array.from(found, (one) => one[1]),
    price: Float64Array.from(chosen, (way) => ways[way].cost),
    group: Int32Array.from(first, (way) => (way < 0 ? -1 : place.get(way))),
  };
  const copies = [...ways, null].map(() => ({
    ...own,
    cost: own.cost.slice(),
    later: own.later.slice(),
    price: own.price.slice(),
  }));
  byCause.forEach((some, cause) => {
    for (const [used] of some) {
      const [cost, later] = chain(some, after.shows[cause], after, used);
      copies[used].cost[cause] = cost;
      copies[used].later[cause] = later;
    }
  });
  for (const way of chosen) repriced(copies[way], first, way, place.get(way));
  return { own, ownAfter: copies };
}

/** The group of a used-up way goes on with what is next best for its causes. */
function repriced(costs, first, way, group) {
  let total = 0;
  let count = 0;
  first.forEach((one, cause) => {
    if (one !== way) return;
    total += costs.cost[cause] - costs.later[cause];
    count += 1;
  });
  costs.price[group] = total / count;
}
