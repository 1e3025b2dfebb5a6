// What was said at the call, and what re-runs told: likelihoods over the first condition.

import { symptomReports } from "./pocket-evidence.js";

/** P(each condition is off | set): log-sums over the causes of the set. */
function offChances(model, set) {
  return exponents(model.logNotQ, set, model.logNotLeak);
}

function exponents(logs, set, start) {
  const sum = Float64Array.from(start);
  for (const cause of set) {
    const row = logs[cause];
    for (let c = 0; c < sum.length; c++) sum[c] += row[c];
  }
  for (let c = 0; c < sum.length; c++) sum[c] = Math.exp(sum[c]);
  return sum;
}

/** 1 - the product over the set of (1 - chance), for each condition. */
function anyOf(logs, set, size) {
  const sum = new Float64Array(size);
  for (const cause of set) for (let c = 0; c < size; c++) sum[c] += logs[cause][c];
  for (let c = 0; c < size; c++) sum[c] = -Math.expm1(sum[c]);
  return sum;
}

/** P(first condition | set), rows sum to one. */
function firstRow(model, off, healthy) {
  if (healthy >= 0) return Float64Array.from(model.complaint.healthy[healthy]);
  const first = new Float64Array(off.length);
  let before = 1;
  for (let c = 0; c < off.length; c++) {
    first[c] = (1 - off[c]) * before;
    before *= off[c];
  }
  for (let c = 0; c < off.length; c++) first[c] /= 1 - before;
  return first;
}

/** Everything said of each condition beside the first one: {condition, a, b}. */
function heard(model, rules, asked, mentions) {
  const size = model.logNotLeak.length;
  const chances = new Map(asked.map(([c, on, off]) => [c, [on, new Float64Array(size).fill(off)]]));
  const [mentionOn, mentionOff] = rules.mentioned;
  for (const condition of mentions) {
    const [on, off] = chances.get(condition) ?? [1, new Float64Array(size).fill(1)];
    const said = model.complaint.said;
    const told = off.map((one, c) => one * (mentionOff + (mentionOn - mentionOff) * said[c][condition]));
    chances.set(condition, [on * mentionOn, told]);
  }
  return [...chances].map(([condition, [on, off]]) => heardOf(model, condition, on, off));
}

/** A stage that was not reached shows nothing. */
function heardOf(model, condition, on, off) {
  const { stage, stopping } = model.complaint;
  const a = new Float64Array(off.length);
  const b = new Float64Array(off.length);
  for (let c = 0; c < off.length; c++) {
    const free = c < condition && (!stopping[c] || stage[condition] <= stage[c]);
    a[c] = free || c === condition ? on : off[c];
    b[c] = free ? on - off[c] : 0;
  }
  return { condition, a, b };
}

/** Each condition named, as the one that came first, with what was said of the others. */
function waysOfTelling(model, rules, complaint) {
  const named = complaint.reported;
  const asked = symptomReports(model, complaint);
  if (!named.length) {
    return [{ words: complaint.words.map(() => 1), others: heard(model, rules, asked, []) }];
  }
  return named.map((first, position) => {
    let chance = named.length === 1 ? 1 : rules.named_first;
    if (position) chance = (1 - rules.named_first) / (named.length - 1);
    const others = [...named.slice(0, position), ...named.slice(position + 1)];
    const words = model.complaint.said.map((row) => chance * row[first]);
    return { words, others: heard(model, rules, asked, others) };
  });
}

/** P(what was seen on the panel | first condition, set). */
function panelRow(model, complaint, off) {
  const result = new Float64Array(off.length);
  let later = complaint.panel_none;
  for (let c = off.length - 1; c >= 0; c--) {
    result[c] = later;
    if (model.complaint.stopping[c]) {
      result[c] = complaint.panel[c];
      later = off[c] * later + (1 - off[c]) * complaint.panel[c];
    }
  }
  return result;
}

const quiet = new WeakMap();

/** A complaint of which nothing is known; always the same one of a model. */
export function silent(model) {
  if (!quiet.has(model)) {
    const words = Array.from(model.logNotLeak, () => 1);
    quiet.set(model, { words, reported: [], panel: null, panel_none: 1, symptoms: [] });
  }
  return quiet.get(model);
}

/** What a complaint came to over the sets: most facts told later leave it as it is. */
const kept = new WeakMap();

/**
 * P(first condition, everything said and seen of it | set), one row for each set, and the
 * chance that each condition is off.
 *
 * @returns {{terms: Float64Array[], offs: Float64Array[]}}
 */
export function complaintTerms(model, rules, complaint, sets) {
  const before = kept.get(complaint);
  if (before && before.sets === sets) return before;
  const ways = waysOfTelling(model, rules, complaint);
  const offs = sets.members.map((set) => offChances(model, set));
  const terms = offs.map((off, number) =>
    termsRow(model, complaint, ways, off, sets.healthy[number]),
  );
  kept.set(complaint, { sets, terms, offs });
  return kept.get(complaint);
}

function termsRow(model, complaint, ways, off, healthy) {
  const first = firstRow(model, off, healthy);
  const panel = complaint.panel && panelRow(model, complaint, off);
  for (let c = 0; c < off.length; c++) {
    let told = 0;
    for (const way of ways) {
      let part = way.words[c];
      for (const one of way.others) part *= one.a[c] - one.b[c] * off[one.condition];
      told += part;
    }
    first[c] *= complaint.words[c] * told * (panel ? panel[c] : 1);
  }
  return first;
}

/** P(a re-run came out so | chance that it fails). */
function either(result, fails) {
  return result === null ? 1 : result === 0 ? fails : 1 - fails;
}

function cameOut(rules, result, again) {
  return either(result, rules.stray_failure + (1 - rules.stray_failure) * again);
}

/** P(outcome of every re-run | row, first condition), for one row. */
export function rerunRow(model, rules, results, rows, row, off, healthy) {
  const size = off.length;
  const total = new Float64Array(size);
  if (healthy >= 0) {
    const fails = model.healthy_rerun_fails[healthy];
    return total.fill(results.reduce((held, result) => held * either(result, fails), 1));
  }
  const here = new Float64Array(size).fill(1);
  const shown = new Float64Array(size).fill(1);
  for (let epoch = 1; epoch <= results.length + 1; epoch++) {
    const last = epoch > results.length;
    const left = last ? [] : rows.states[epoch][row];
    const raised = anyOf(model.logNotQ, left, size);
    const runs = anyOf(model.logNotQShown, left, size);
    const stray = results.slice(epoch - 1).reduce((held, r) => held * cameOut(rules, r, 0), 1);
    for (let c = 0; c < size; c++) {
      const later = Math.min(raised[c] / (1 - off[c]), 1);
      total[c] += (here[c] - later) * shown[c] * stray;
      here[c] = later;
      if (!last) {
        const again = runs[c] / (raised[c] > 0 ? raised[c] : 1);
        shown[c] *= cameOut(rules, results[epoch - 1], again);
      }
    }
  }
  return total;
}

/** P(every time, sometimes or once | set, first condition), for one set. */
export function howOftenRow(model, rules, word, set, off, healthy) {
  const size = off.length;
  if (healthy >= 0) return new Float64Array(size).fill(model.healthy_how_often[healthy][word]);
  const any = anyOf(model.logNotQ, set, size);
  const shown = anyOf(model.logNotQShown, set, size);
  return any.map((one, c) => {
    const raised = Math.min(one / (1 - off[c]), 1);
    const shows = shown[c] / (one > 0 ? one : 1);
    return raised * remembered(rules, shows, word) + (1 - raised) / 3;
  });
}

function remembered(rules, chance, word) {
  const runs = rules.runs_remembered;
  const shows = Math.min(Math.max(chance, 1e-6), 1);
  const rang = 1 - (1 - shows) ** runs;
  const every = shows ** runs / rang;
  const once = (runs * shows * (1 - shows) ** (runs - 1)) / rang;
  const told = [every, Math.max(1 - every - once, 0), once][word];
  return (1 - rules.misremembered) * told + rules.misremembered / 3;
}
