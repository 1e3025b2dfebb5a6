// Send what waits. The server keeps each fact once, so sending twice is harmless.

import { besides, letGo, note, noted, refuse, waiting } from "./outbox.js";

/** Facts in one message. */
const AT_ONCE = 200;

/**
 * @typedef {Object} Sent
 * @property {number} sent
 * @property {string} wrong why the rest waits, "" when nothing does
 * @property {number} news facts that other devices added to these jobs
 */

/** @returns {Promise<Sent>} */
export function flush() {
  if (!navigator.locks) return flushNow();
  return navigator.locks.request("tubside-sending", flushNow);
}

async function flushNow() {
  const done = { sent: 0, wrong: "", news: 0 };
  const blocked = new Set();
  for (;;) {
    const entries = (await waiting()).filter((e) => !e.refused && !blocked.has(key(e)));
    if (!entries.length) break;
    const mine = entries.filter((entry) => key(entry) === key(entries[0]));
    mine.sort((a, b) => a.sequence - b.sequence);
    const some = mine.slice(0, AT_ONCE);
    const answer = await post(some[0], some.map(asSent), [], await knownOf(some));
    if (answer.wrong) {
      done.wrong = answer.wrong;
      if (answer.later) return done;
      blocked.add(key(some[0]));
      continue;
    }
    await settle("facts", some.map((entry) => entry.id), answer.results);
    await learn(answer.jobs, done);
    done.sent += answer.results.filter((one) => one.result !== "refused").length;
  }
  await flushBeside(done);
  return done;
}

/** What goes beside the facts follows them, one a message: a photo is large. */
async function flushBeside(done) {
  const left = new Set((await waiting()).filter((e) => !e.refused).map((e) => e.job));
  for (const one of await besides()) {
    if (one.refused || left.has(one.job)) continue;
    const mine = await noted(`phone:${one.user}`);
    const { user, photo, ...rest } = one;
    const sent = photo ? { ...rest, content: await base64(photo) } : rest;
    const answer = await post({ user, device: mine.device }, [], [sent], {});
    if (answer.wrong) { done.wrong = answer.wrong; continue; }
    await settle("beside", [one.ref], answer.beside);
    done.sent += 1;
  }
}

const key = (entry) => `${entry.user} ${entry.device}`;

/** A fact as the server takes it; those of older programs are told in the same way. */
function asSent({ id, job, sequence, at, seen, computed_from, body }) {
  return { id, job, sequence, at, seen, body, ...(computed_from && { computed_from }) };
}

async function knownOf(entries) {
  const known = {};
  for (const job of new Set(entries.map((entry) => entry.job))) {
    const seen = entries.filter((e) => e.job === job).map((e) => e.seen);
    known[job] = Object.assign({}, ...seen, await noted(`seen:${job}`));
  }
  return known;
}

async function post({ user, device }, facts, beside, known) {
  const content = JSON.stringify({ format: 1, user, device, facts, beside, known });
  const headers = { "content-type": "application/json" };
  let answer;
  try {
    answer = await fetch("/sync", { method: "POST", headers, body: content, cache: "no-store" });
  } catch {
    return { wrong: "no signal", later: true };
  }
  if (answer.ok) return answer.json();
  if (answer.status === 401) return { wrong: "log in to send them", later: true };
  const said = await answer.json().catch(() => ({}));
  const words = said.wrong || `the server answered ${answer.status}`;
  return { wrong: words, later: answer.status === 429 || answer.status >= 500 };
}

async function settle(store, keys, results) {
  const gone = keys.filter((_, place) => results[place].result !== "refused");
  await letGo(store, gone);
  for (const [place, name] of keys.entries()) {
    if (results[place].result === "refused") await refuse(store, name, results[place].why);
  }
}

async function learn(jobs, done) {
  for (const [job, news] of Object.entries(jobs)) {
    done.news += news.others.filter((fact) => fact.body.kind !== "advice").length;
    await note(`seen:${job}`, news.seen);
  }
}

/** @param {Blob} blob @returns {Promise<string>} */
async function base64(blob) {
  const bytes = new Uint8Array(await blob.arrayBuffer());
  let text = "";
  for (let from = 0; from < bytes.length; from += 0x8000) {
    text += String.fromCharCode(...bytes.subarray(from, from + 0x8000));
  }
  return btoa(text);
}
