// One more fact of a job, coded as the server codes it. What cannot be is kept waiting.

const CUSTOMER = 0;
const WORKS = 1;
const FAILS = 0;
const RERUNS = new Map([["works", WORKS], ["still-fails", FAILS], ["not re-run", null]]);

/**
 * A job with one more fact, or why the fact cannot be counted here.
 *
 * @param {any} job what stands now; not changed
 * @param {any} body the fact as it is kept: its `kind` and coded values
 * @returns {any} the changed parts of the job; `why` where it must wait for signal
 */
export function told(job, body) {
  const take = TAKERS[body.kind];
  if (take) return take(job, body);
  if (job.rules.no_news.includes(body.kind)) return {};
  return wait(`what it tells (${body.kind}) is worked in with signal`);
}

const wait = (why) => ({ why });

const TAKERS = {
  check: takeCheck,
  reading: takeReading,
  remedy: takeRemedy,
  condition: takeCondition,
  "came-back": takeCameBack,
  reported: takeReported,
  context: takeContext,
  danger: (job, body) => dangers(job, body.kinds ?? []),
  place: (job, body) => situated(job, { onSite: body.where === "site" }),
  "parts-aboard": takeParts,
  closing: () => ({ closed: true }),
};

function situated(job, more) {
  return { situation: { ...job.situation, ...more } };
}

function with_(set, one) {
  return new Set(set).add(one);
}

/** Dangers told that were not known before: from here on there is no advice. */
function dangers(job, kinds) {
  const fresh = kinds.filter((kind) => kind && !job.dangers.includes(kind));
  return fresh.length ? { stop: [...new Set([...job.stop, ...fresh])] } : {};
}

/** A check done counts as looked at, its cover as opened, whatever it said. */
function looked(job, index, observer) {
  const { answered, covers } = job.situation;
  const cover = job.model.checks[index].cover;
  return situated(job, {
    answered: with_(answered, `${index} ${observer}`),
    covers: cover < 0 ? covers : with_(covers, cover),
  });
}

function observerOf(job, body) {
  return job.observers.indexOf(body.by ?? "customer");
}

function answerOf(job, index, outcome) {
  if (job.rules.nothing_learned.includes(outcome)) return -1;
  const place = job.words.checks[index].outcomes.indexOf(outcome);
  return place < 0 ? null : place;
}

function takeCheck(job, body) {
  const index = job.model.names.checks.indexOf(body.check);
  const outcome = index < 0 ? null : answerOf(job, index, body.outcome);
  if (outcome === null) return wait("this phone does not know the check or its answer");
  const observer = observerOf(job, body);
  const epoch = job.evidence.treatments.length;
  const answer = [index, outcome, observer, epoch, body.again ? 1 : 0];
  const danger = job.dangerRules.checks[index]?.[body.outcome];
  return {
    ...looked(job, index, observer),
    ...dangers(job, [danger]),
    evidence: { ...job.evidence, answers: [...job.evidence.answers, answer] },
  };
}

function takeContext(job, body) {
  const rule = job.dangerRules.context[body.name];
  if (!rule || job.told.circumstances.includes(body.name))
    return wait("what is told of the place anew is worked in with signal");
  const outcome = rule[body.value ? 1 : 2];
  const answers = job.evidence.answers.slice();
  const answer = [rule[0], answerOf(job, rule[0], outcome), CUSTOMER, 0, 0];
  answers.splice(job.told.context_answers, 0, answer);
  return {
    ...situated(job, { answered: with_(job.situation.answered, `${rule[0]} ${CUSTOMER}`) }),
    ...dangers(job, [job.dangerRules.checks[rule[0]]?.[outcome]]),
    evidence: { ...job.evidence, answers },
    told: {
      ...job.told,
      circumstances: [...job.told.circumstances, body.name],
      context_answers: job.told.context_answers + 1,
    },
  };
}

function takeReading(job, body) {
  const index = job.model.names.checks.indexOf(body.check);
  if (index < 0) return wait("this phone does not know the check");
  const observer = observerOf(job, body);
  const table = job
    .openTables()
    .find((one) => one.check === index && one.observer === observer && one.counts);
  const bin = table ? binOf(table, body) : null;
  if (bin === null) return wait("this number needs the exact arithmetic of the server");
  const number = job.readings.tables.indexOf(table);
  return { ...looked(job, index, observer), bins: [...job.bins, [number, bin]] };
}

/** The bin that holds what was read; null where none holds all of it. */
function binOf(table, body) {
  const { edges, none } = table;
  const last = edges.length;
  if (body.said === "no reading") return none ? last + 1 : null;
  if (body.said.startsWith("over ")) return !last || body.value >= edges[last - 1] ? last : null;
  if (body.said.startsWith("under ")) return !last || body.value <= edges[0] ? 0 : null;
  return edges.filter((edge) => body.value >= edge).length;
}

function takeRemedy(job, body) {
  const index = job.model.names.remedies.indexOf(body.remedy);
  const undone = job.rules.not_done.includes(body.outcome);
  if (index < 0 || !(undone || RERUNS.has(body.outcome)))
    return wait("this phone does not know the remedy or its outcome");
  const remedy = job.model.remedies[index];
  const observer = observerOf(job, body);
  const { tried, covers } = job.situation;
  const done = {
    ...situated(job, {
      tried: with_(tried, `${index} ${observer}`),
      covers: remedy.cover < 0 ? covers : with_(covers, remedy.cover),
    }),
    told: { ...job.told, remedies: job.told.remedies + 1 },
  };
  if (undone) return done;
  const clears = clearsOf(remedy, observer, job.model.n);
  return { ...done, ...treated(job, { clears, rerun: RERUNS.get(body.outcome) }) };
}

function clearsOf(remedy, observer, n) {
  const clears = new Float64Array(n);
  const rows = remedy.clears[observer].length ? [remedy.clears[observer]] : remedy.clears;
  for (const row of rows)
    for (const [cause, chance] of row) clears[cause] = Math.max(clears[cause], chance);
  return clears;
}

function treated(job, treatment) {
  const treatments = [...job.evidence.treatments, treatment];
  return { evidence: { ...job.evidence, treatments }, finished: treatment.rerun === WORKS };
}

function takeCameBack(job) {
  if (!job.told.remedies) return wait("it came back, but no remedy was done before");
  return treated(job, { clears: new Float64Array(job.model.n), rerun: FAILS });
}

/** The complaint, or one of which nothing is known yet. */
function complaintOf(job) {
  return (
    job.evidence.complaint ?? {
      words: Array.from(job.model.complaint.leak, () => 1),
      reported: [],
      panel: null,
      panel_none: 1,
      symptoms: [],
    }
  );
}

function takeCondition(job, body) {
  const index = job.model.names.conditions.indexOf(body.condition);
  const observer = observerOf(job, body);
  const [on, off] = job.rules.asked[observer];
  const chances = { yes: [on, off], no: [1 - on, 1 - off] }[body.outcome];
  const empty = job.rules.nothing_learned.includes(body.outcome);
  if (index < 0 || !(chances || empty)) return wait("this phone does not know the question");
  const complaint = complaintOf(job);
  const symptom = [index, ...(chances ?? [1, 1]), observer, 0];
  const danger = body.outcome === "yes" ? job.dangerRules.conditions[index] : null;
  return {
    ...dangers(job, [danger]),
    evidence: {
      ...job.evidence,
      complaint: { ...complaint, symptoms: [...complaint.symptoms, symptom] },
    },
  };
}

function takeReported(job, body) {
  const { names, complaint: model } = job.model;
  const conditions = (body.conditions ?? []).map((name) => names.conditions.indexOf(name));
  const stages = { when: body.when ?? null, reached: body.reached ?? null };
  const anew = Object.keys(stages).some((key) => stages[key] !== null && job.told[key]);
  const unknown = Object.values(stages).some((name) => name !== null && !names.stages.includes(name));
  if (conditions.includes(-1) || anew || unknown)
    return wait("what is told of the trouble anew is worked in with signal");
  const often = body.how_often ? job.rules.how_often[body.how_often] : job.evidence.how_often;
  let complaint = job.evidence.complaint;
  if (conditions.length) {
    complaint = complaintOf(job);
    complaint = { ...complaint, reported: [...new Set([...complaint.reported, ...conditions])] };
  }
  for (const [key, name] of Object.entries(stages)) {
    if (name === null) continue;
    const stage = names.stages.indexOf(name);
    const factor = model.leak.map((_, c) => stageWord(job, key, stage, c));
    const before = complaint ?? complaintOf(job);
    complaint = { ...before, words: before.words.map((one, c) => one * factor[c]) };
  }
  return {
    ...dangers(job, conditions.map((c) => job.dangerRules.conditions[c])),
    evidence: { ...job.evidence, complaint, how_often: often },
    told: { ...job.told, when: job.told.when || stages.when !== null, reached: job.told.reached || stages.reached !== null },
  };
}

/** P(a stage is told so | first condition). */
function stageWord(job, key, stage, condition) {
  const { at_stage: at, stopping, stage: stages } = job.model.complaint;
  if (key === "when") return at[condition][stage];
  return stopping[condition] && stages[condition] < stage ? job.rules.stage_slip : 1;
}

function takeParts(job, body) {
  const aboard = job.situation.aboard.slice();
  for (const [list, value] of [[body.aboard ?? [], 1], [body.not_aboard ?? [], 0]])
    for (const name of list) {
      const part = job.model.names.parts.indexOf(name);
      if (part < 0) return wait("this phone does not know the part");
      aboard[part] = value;
    }
  return situated(job, { aboard });
}
