// What is not yet sent, of whom, and the words for it: on our pages, and on those of the worker.

import { besides, waiting } from "./outbox.js";

/**
 * @typedef {Object} Unsent
 * @property {Object[]} facts every one
 * @property {Object[]} beside words, photos and names
 * @property {Object[]} mine facts of who is logged in here, cautions left out
 * @property {Object[]} others facts of somebody else
 * @property {Object[]} refused by the server
 */

/** @param {number} count @param {string} what */
export const some = (count, what) => `${count} ${what}${count === 1 ? "" : "s"}`;

/** What waits, seen by one person. @param {string} user @returns {Promise<Unsent>} */
export async function unsentFor(user) {
  const [facts, beside] = await Promise.all([waiting(), besides()]);
  const real = facts.filter((fact) => fact.body.kind !== "caution");
  return {
    mine: real.filter((fact) => !fact.user || fact.user === user),
    others: real.filter((fact) => fact.user && fact.user !== user),
    refused: [...facts, ...beside].filter((one) => one.refused),
    beside, facts,
  };
}

/** In words, "" where nothing waits. @param {Unsent} found @returns {string} */
export function unsentWords(found) {
  const parts = [];
  if (found.mine.length) parts.push(`${some(found.mine.length, "fact")} not yet sent`);
  else if (found.beside.length || found.facts.length > found.others.length) parts.push("Something is not yet sent");
  if (found.refused.length) parts.push(`${some(found.refused.length, "thing")} refused`);
  for (const name of new Set(found.others.map((fact) => fact.user))) {
    const count = found.others.filter((fact) => fact.user === name).length;
    parts.push(`${some(count, "fact")} of ${name} not yet sent: ${name} must log in here`);
  }
  return parts.join(" · ");
}
