// The facts that a form tells, made on the phone as the server would have made them.
// The patterns are described in web/pages/told_forms.py.

/**
 * @typedef {Object} Told
 * @property {number} format
 * @property {Object[]} facts patterns
 * @property {string} [user]
 * @property {string} [job]
 * @property {boolean} [new]
 * @property {Record<string, number>} [seen]
 * @property {string} [computed_from]
 * @property {string} [go]
 * @property {string} [say] what the form is about, in words
 * @property {Record<string, string>} [names] value -> its words
 *
 * @typedef {Object} Made
 * @property {string} job
 * @property {string} go
 * @property {{id: string, body: Object, say: string}[]} facts
 * @property {Object[]} beside words, photos and people, by reference
 */

/** Something the person can mend; told to them as it stands. */
export class Mend extends Error {}

const UNHURT = ["not sure", "could not look", "not done"];

/** A random id, also where crypto.randomUUID is not to be had.
 * @returns {string} */
export function fresh() {
  if (crypto.randomUUID) return crypto.randomUUID().replaceAll("-", "");
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** @param {FormData} form @param {string} name @returns {string} */
function one(form, name) {
  const value = form.get(name);
  return typeof value === "string" ? value.trim() : "";
}

/** @param {FormData} form @param {string} name @returns {string[]} */
function all(form, name) {
  return form.getAll(name).filter((value) => typeof value === "string").map((v) => v.trim())
    .filter((value) => value !== "");
}

/** @param {string} text @param {string} what @returns {number} */
function number(text, what) {
  const value = Number(text.replace(",", "."));
  if (text === "" || !Number.isFinite(value)) throw new Mend(`“${text}” is no ${what}.`);
  return value;
}

/** Everything a form tells.
 * @param {Told} told @param {FormData} form @param {string} path of the form's action
 * @returns {Made} */
export function made(told, form, path) {
  const once = one(form, "once") || fresh();
  let count = 0;
  const next = () => `${once}-${count++}`;
  const job = told.new ? next() : told.job || path.split("/")[2];
  const beside = [];
  const context = { form, job, once, beside };
  const bodies = told.facts.flatMap((pattern) => bodiesOf(pattern, context));
  const facts = bodies.map((body) => ({ id: next(), body, say: inWords(body, told) }));
  return { job, go: (told.go || "/jobs/{job}").replace("{job}", job), facts, beside };
}

/** @param {Object} pattern @param {Object} context @returns {Object[]} */
function bodiesOf(pattern, context) {
  const { form } = context;
  if (pattern.pick !== undefined) {
    const value = one(form, pattern.pick);
    const found = pattern.of[value] || (value && pattern.of["*"]);
    return found ? bodiesOf(found, context) : [];
  }
  if (pattern.only !== undefined) {
    const value = form.get(pattern.only);
    const there = value instanceof Blob ? value.size > 0 : one(form, pattern.only) !== "";
    return there ? bodiesOf(pattern.body, context) : [];
  }
  if (pattern.each !== undefined) return each(pattern, form);
  if (pattern.read !== undefined) return [reading(pattern.read, form)];
  if (pattern.lamps !== undefined && pattern.kind === undefined) return [lamps(pattern, form)];
  return [filled(pattern, context)];
}

function each(pattern, form) {
  const values = all(form, pattern.each);
  const missing = pattern.need.filter((need) => !values.includes(need)).length;
  if (missing && !UNHURT.includes(one(form, "outcome"))) {
    throw new Mend(`Tick what can hurt first: ${missing} of the cautions are not ticked.`);
  }
  return pattern.need.filter((need) => values.includes(need)).map((value) =>
    Object.fromEntries(Object.entries(pattern.body).map(([k, v]) => [k, v === "$" ? value : v])));
}

function filled(pattern, context) {
  const body = {};
  for (const [key, said] of Object.entries(pattern)) {
    const value = valueOf(said, context);
    if (value !== undefined) body[key] = value;
  }
  for (const key of ["outcome", "who", "confirmed_by", "fact", "part", "reason", "what"]) {
    if (pattern[key] !== undefined && !body[key]) throw new Mend("Tap one of the answers.");
  }
  if (body.kind === "reported" && !body.conditions.length) {
    throw new Mend("Tap what is wrong; one is enough.");
  }
  if (body.kind === "closing" && !body.causes.length) throw new Mend("Tap at least one cause.");
  if (["appliance-told", "safety-reading", "safety-rcd"].includes(body.kind)) tested(body);
  return body;
}

/** Numbers of the safety test that cannot be, said before they wait for the server.
 * @param {Object} body */
function tested(body) {
  const below = Object.values(body).some((value) => typeof value === "number" && value < 0);
  if (below) throw new Mend("No number here is below nought.");
  if (body.kind === "safety-reading" && body.uncertainty === 0) {
    throw new Mend("Write how far the reading may be off; no instrument is exact.");
  }
  if (body.due < body.calibrated) {
    throw new Mend("The calibration is good until a day before it was done; look at the two dates.");
  }
  if (body.kind === "appliance-told" && !(body.cord_m > 0)) {
    throw new Mend("Write the cord’s length in metres.");
  }
}

function valueOf(said, context) {
  const { form } = context;
  if (Array.isArray(said)) {
    const found = said.flatMap((part) => valueOf(part, context) ?? []);
    return [...new Set(found)];
  }
  if (typeof said !== "string") return said;
  if (said.startsWith("$#")) return number(one(form, said.slice(2)), "number");
  if (said.startsWith("$+")) return one(form, said.slice(2)) ? number(one(form, said.slice(2)), "number") : undefined;
  if (said.startsWith("$?")) return one(form, said.slice(2)) ? true : undefined;
  if (said.startsWith("$^")) return code(one(form, said.slice(2)));
  if (said.startsWith("$~")) return noon(one(form, said.slice(2)));
  if (said.startsWith("$*")) return all(form, said.slice(2));
  if (said.startsWith("$")) return one(form, said.slice(1)) || undefined;
  if (said.startsWith("@")) return reference(said.slice(1), context);
  return said;
}

/** The noon of a day where this phone is; undefined where none is told. */
function noon(day) {
  if (!day) return undefined;
  const moment = new Date(`${day}T12:00:00`);
  if (Number.isNaN(moment.getTime())) throw new Mend(`“${day}” is no day; write it like 2026-03-04.`);
  return moment.toISOString();
}

/** Letters and digits of a plate in groups; undefined where there are none. */
function code(text) {
  const groups = text.normalize("NFKD").replace(/[^\x00-\x7f]/g, "").toUpperCase().match(/[A-Z0-9]+/g);
  const found = groups ? groups.join("-") : undefined;
  if (text && (!found || found.length > 40)) throw new Mend("Write the serial number in letters A to Z and digits, at most 40.");
  return found;
}

/** What lies beside the facts: its reference, undefined where there is nothing. */
function reference(what, { form, job, once, beside }) {
  const ref = `${once}-ref`;
  if (what === "note") {
    const text = one(form, "note");
    if (!text) return undefined;
    beside.push({ what: "words", ref, job, text });
  } else if (what === "photo") {
    beside.push({ what: "photo", ref, job, photo: form.get("photo") });
  } else {
    const names = ["name", "phone", "address", "email", "note"];
    const data = Object.fromEntries(names.map((name) => [name, one(form, name)]));
    const replaces = one(form, "replaces");
    beside.push({ what: "person", ref, job, data, ...(replaces && { replaces }) });
  }
  return ref;
}

/** A number in the unit of its reading [SI: shift + slope × number], or an answer in words. */
function reading(read, form) {
  const outcome = one(form, "outcome");
  const by = { check: read.check, by: read.by };
  if (outcome) return { kind: "check", ...by, outcome };
  if (one(form, "none") === "yes") return { kind: "reading", ...by, value: 0, said: "no reading" };
  let text = one(form, "value");
  const unit = read.unit.toLowerCase();
  if (unit && text.toLowerCase().endsWith(unit)) text = text.slice(0, -unit.length).trim();
  const shown = number(text, `number in ${read.unit || "figures"}; without signal write it in that`);
  const value = read.shift + read.slope * shown;
  const low = read.least ?? -Infinity;
  const high = read.most ?? Infinity;
  if (value < low || value > high) throw new Mend(`${text} ${read.unit} cannot be; measure again.`);
  const word = { over: "over ", under: "under " }[one(form, "says")] || "";
  return { kind: "reading", ...by, value, said: `${word}${shown} ${read.unit}`.trim() };
}

function lamps(pattern, form) {
  const told = {};
  for (const [name, state] of form.entries()) {
    if (name.startsWith(pattern.lamps) && state && state !== pattern.not) {
      told[name.slice(pattern.lamps.length)] = state;
    }
  }
  const body = { kind: "indication", lamps: told };
  const sound = one(form, "sound");
  const display = one(form, "display").slice(0, 24);
  if (pattern.sounds.includes(sound)) body.sound = sound;
  if (display) body.display = display;
  if (!Object.keys(told).length && !body.sound && !body.display) {
    throw new Mend("Nothing is told yet: tap a lamp until it looks as on the machine.");
  }
  return body;
}

/** A fact in a few words, for the line.
 * @param {Object} body @param {Told} told @returns {string} */
export function inWords(body, told) {
  const names = told.names || {};
  const named = (value) => names[value] || String(value).replaceAll(/[-_]/g, " ");
  const about = told.say ? `${told.say.replace(/[?:]$/, (mark) => (mark === "?" ? "?" : ""))}` : "";
  const joined = (what) => (about ? `${about}${about.endsWith("?") ? "" : ":"} ${what}` : what);
  switch (body.kind) {
    case "check": case "remedy": return joined(named(body.outcome));
    case "reading": return joined(body.said);
    case "danger": return body.kinds?.map(named).join(", ") || "Asked: no danger";
    case "reported": return body.conditions.map(named).join(", ");
    case "machine": return `Machine: ${named(body.model || body.family || (body.serial ? `serial number ${body.serial}` : `${body.age_years} years old`))}`;
    case "indication": return `Panel: ${Object.entries(body.lamps).map((pair) => pair.join(" ")).join(", ")}`;
    case "payer": return `Who pays: ${named(body.who)}`;
    case "place": return body.where === "site" ? "At the machine" : "On the telephone";
    case "retract": return "A fact taken back";
    case "caution": return "Caution read";
    case "closing": return `Closed: ${body.causes.map(named).join(", ")}`;
    case "person": return "Name and address taken";
    case "photo": return "A photo taken";
    case "recording": return "A recording kept";
    case "recording-read": return body.of === "lamps" ? "Lamps read from a clip" : "A sound read";
    case "words": return "Words taken down";
    case "part-used": return `Part used: ${body.units > 1 ? `${body.units} × ` : ""}${names[body.part] || body.part}`;
    case "visit": return `Visit ${named(body.status)}${body.reason ? `: ${named(body.reason)}` : ""}`;
    case "waiting": return body.what ? `Waits: ${named(body.what)}` : "Waits no more";
    case "machine-moved": return body.to === "workshop" ? "Machine taken to the workshop" : "Machine returned";
    case "came-back": return "The trouble came back";
    case "work-touched": return `Touched: ${body.what.map(named).join(", ") || "nothing that asks for a safety test"}`;
    case "appliance-told": return `Appliance of class ${body.protection}`;
    case "safety-look": return joined(body.outcome === "pass" ? "it is right" : "it is not right");
    case "safety-reading": return joined(`${body.over_range ? "over " : ""}${body.value} ± ${body.uncertainty} ${names.unit || ""}`.trim());
    case "safety-rcd": return joined(body.no_trip ? "it does not trip" : "times told");
    default: return named(body.kind);
  }
}
