// The compiled model of a pocket, made ready: logarithms taken, places of causes looked up.

/**
 * @typedef {object} Finding
 * @property {Float64Array} healthy P(outcome | healthy)
 * @property {number[]} touched causes that alter it, for kinds in order of dominance
 * @property {number[][]} rows
 * @property {boolean} graded
 * @property {boolean} needsFault
 * @property {Int16Array} place place of each cause among the touched, -1 for none
 * @property {Float64Array[]} ratio log of the tails over the healthy ones, where graded
 * @property {Float64Array} tail P(index >= o | healthy), kept off zero
 * @property {Float64Array} quiet log of the chance that a touched cause does not show
 */

const TINY = 1e-12;
/** Places are below this, and this many of them make a whole number that is still exact. */
const BEYOND = 512;
const MOST_IN_KEY = 5;

/**
 * @param {any} told the JSON of the model
 * @returns {any} the model, with findings as {@link Finding} and what else is used often
 */
export function modelOf(told) {
  const n = told.names.causes.length;
  const shows = Float64Array.from(told.shows);
  const odds = told.prior.odds.map((one, i) => one * (told.age_factor ? told.age_factor[i] : 1));
  return {
    ...told,
    n,
    shows,
    logOdds: Float64Array.from(odds, Math.log),
    logQuiet: shows.map((one) => Math.log1p(-Math.min(one, 1 - TINY))),
    logNotQ: told.complaint.q.map((row) => Float64Array.from(row, (q) => Math.log1p(-q))),
    logNotQShown: told.complaint.q.map((row, i) =>
      Float64Array.from(row, (q) => Math.log1p(-q * shows[i])),
    ),
    logNotLeak: Float64Array.from(told.complaint.leak, (one) => Math.log1p(-one)),
    axes: told.prior.axes.map((axis) => axisOf(axis, n)),
    findings: told.findings.map((finding) => findingOf(finding, shows, n)),
    seenAs: seenAs(told),
  };
}

function axisOf(axis, n) {
  const place = new Int16Array(n).fill(-1);
  axis.members.forEach((cause, position) => (place[cause] = position));
  return { ...axis, place, logShare: axis.member_share.map(Math.log) };
}

/** @returns {Finding} */
function findingOf(told, shows, n) {
  const place = new Int16Array(n).fill(-1);
  told.touched.forEach((cause, position) => (place[cause] = position));
  const tail = tailOf(told.healthy);
  return {
    healthy: Float64Array.from(told.healthy),
    touched: told.touched,
    rows: told.rows,
    graded: told.graded,
    needsFault: told.needs_fault,
    place,
    tail,
    ratio: told.rows.map((row) => tailOf(row).map((one, o) => Math.log(one) - Math.log(tail[o]))),
    quiet: Float64Array.from(told.touched, (i) => Math.log1p(-Math.min(shows[i], 1 - TINY))),
  };
}

/** P(index >= o), kept off zero. */
function tailOf(row) {
  const tail = new Float64Array(row.length);
  let held = 0;
  for (let o = row.length - 1; o >= 0; o--) {
    held += row[o];
    tail[o] = Math.max(held, TINY);
  }
  return tail;
}

/** What each check looks at: its finding, then quantities; -1 for an axis. */
function seenAs(told) {
  const quantities = [...new Set(told.checks.map((c) => c.reads).filter((q) => q !== null))].sort();
  return told.checks.map((c) =>
    c.reads === null ? c.finding : told.findings.length + quantities.indexOf(c.reads),
  );
}

/**
 * P(outcome | set) of a finding on a day when the fault may not show.
 *
 * @param {Finding} finding
 * @param {number[]} inside places among the touched, in rising order
 * @returns {ArrayLike<number>} not to be changed
 */
export function seenRow(finding, inside) {
  const table = finding.graded ? gradedRow(finding, inside) : kindsRow(finding, inside);
  if (!finding.needsFault) return table;
  let quiet = 0;
  for (const place of inside) quiet += finding.quiet[place];
  const shows = 1 - Math.exp(quiet);
  const row = [];
  for (let o = 0; o < table.length; o++)
    row.push(shows * table[o] + (1 - shows) * finding.healthy[o]);
  return row;
}

function gradedRow(finding, inside) {
  const row = [];
  let least = 1;
  for (let o = 0; o < finding.healthy.length; o++) {
    let log = 0;
    for (let i = 0; i < inside.length; i++) log += finding.ratio[inside[i]][o];
    least = Math.min(least, Math.exp(log) * finding.tail[o]);
    row.push(least);
  }
  for (let o = 0; o + 1 < row.length; o++) row[o] -= row[o + 1];
  return row;
}

/** The first cause in the order of dominance decides. */
function kindsRow(finding, inside) {
  return inside.length ? finding.rows[inside[0]] : finding.healthy;
}

/** Rows by what matters to a finding: where its first cause decides, by that alone. */
export function groupedBy(finding, sets) {
  return grouped(finding.place, sets, !finding.graded && !finding.needsFault);
}

/** What was grouped before, for as long as the rows are there. */
const groups = new WeakMap();

/**
 * Rows of a belief by what matters: each kind of row once.
 *
 * @param {Int16Array} place place of each cause among those that matter, -1 for none
 * @param {number[][]} sets causes of each row
 * @param {boolean} [first] whether the first place alone matters
 * @returns {{inside: number[][], index: Int32Array}}
 */
export function grouped(place, sets, first = false) {
  if (!groups.has(sets)) groups.set(sets, new Map());
  const before = groups.get(sets);
  if (!before.has(place)) before.set(place, grouping(place, sets, first));
  return before.get(place);
}

function grouping(place, sets, first) {
  const known = new Map();
  const inside = [];
  const index = new Int32Array(sets.length);
  const here = new Int32Array(place.length);
  for (let row = 0; row < sets.length; row++) {
    let count = placed(place, sets[row], here);
    if (first && count > 1) count = 1;
    const key = keyOf(here, count);
    let group = known.get(key);
    if (group === undefined) {
      group = inside.length;
      known.set(key, group);
      inside.push(Array.from(here.subarray(0, count)));
    }
    index[row] = group;
  }
  return { inside, index };
}

/** Puts the places of a set's causes into `here`, in rising order; how many there are. */
function placed(place, set, here) {
  let count = 0;
  for (let i = 0; i < set.length; i++) {
    const mine = place[set[i]];
    if (mine < 0) continue;
    let at = count++;
    while (at > 0 && here[at - 1] > mine) here[at] = here[--at];
    here[at] = mine;
  }
  return count;
}

/** One key for each list of places; short lists, which nearly all are, as a number. */
function keyOf(here, count) {
  if (count > MOST_IN_KEY) return here.subarray(0, count).join();
  let key = 0;
  for (let i = 0; i < count; i++) key = key * BEYOND + here[i] + 1;
  return key;
}
