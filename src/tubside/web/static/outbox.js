// What was told without signal, kept in the browser's own database until the server has it.

/**
 * @typedef {Object} Entry a fact not yet sent
 * @property {string} id
 * @property {string} job
 * @property {string} user whose it is; only they send it
 * @property {string} device
 * @property {number} sequence
 * @property {string} at
 * @property {Record<string, number>} seen
 * @property {string|null} computed_from
 * @property {Object} body
 * @property {string} say
 * @property {number} format
 * @property {{what: string, where: string, mend: string}} [refused]
 */

import { fresh } from "./facts.js";

export const FORMAT = 1;
const NAME = "tubside";
const VERSION = 1;
/** Bytes of photos that may wait on one phone. */
export const MOST_WAITING = 40 * 1024 * 1024;

/** The database is full, or refuses to write. */
export class Full extends Error {}

/** @template T @param {IDBRequest<T>} request @returns {Promise<T>} */
const asked = (request) => new Promise((resolve, reject) => {
  request.onsuccess = () => resolve(request.result);
  request.onerror = () => reject(request.error);
});

/** @returns {Promise<IDBDatabase>} */
function opened() {
  const request = indexedDB.open(NAME, VERSION);
  request.onupgradeneeded = () => {
    // only ever add: what an older program left must still be sent
    const database = request.result;
    const there = database.objectStoreNames;
    if (!there.contains("facts")) database.createObjectStore("facts", { keyPath: "id" });
    if (!there.contains("beside")) database.createObjectStore("beside", { keyPath: "ref" });
    if (!there.contains("meta")) database.createObjectStore("meta");
  };
  return asked(request);
}

/** Run work in one transaction, all or none, safe on disk when it resolves.
 * @template T
 * @param {string[]} stores @param {IDBTransactionMode} mode
 * @param {(transaction: IDBTransaction) => Promise<T>} work @returns {Promise<T>} */
async function within(stores, mode, work) {
  const database = await opened();
  try {
    const transaction = database.transaction(stores, mode, { durability: "strict" });
    const ended = new Promise((resolve, reject) => {
      transaction.oncomplete = resolve;
      transaction.onabort = () => reject(transaction.error || new Error("not kept"));
    });
    ended.catch(() => {});
    const result = await work(transaction).catch((wrong) => {
      try { transaction.abort(); } catch { /* it has ended already */ }
      throw wrong;
    });
    await ended;
    return result;
  } catch (wrong) {
    if (wrong && wrong.name === "QuotaExceededError") throw new Full("this phone is full");
    throw wrong;
  } finally {
    database.close();
  }
}

/** Keep what a form told, with numbers of this phone's own.
 * @param {import("./facts.js").Made} made @param {import("./facts.js").Told} told */
export async function keep(made, told) {
  const user = told.user || "";
  const at = new Date().toISOString();
  await within(["facts", "beside", "meta"], "readwrite", async (transaction) => {
    const [facts, beside, meta] = ["facts", "beside", "meta"].map((s) => transaction.objectStore(s));
    const mine = (await asked(meta.get(`phone:${user}`))) || { device: `phone-${fresh()}`, last: 0 };
    if (made.beside.length) await checkRoom(beside, made.beside);
    for (const fact of made.facts) {
      if (await asked(facts.get(fact.id))) continue;  // the same form once more
      mine.last += 1;
      await asked(facts.add({
        id: fact.id, job: made.job, user, device: mine.device, sequence: mine.last, at,
        seen: told.seen || {}, computed_from: told.computed_from || null,
        body: fact.body, say: fact.say, format: FORMAT,
      }));
    }
    for (const one of made.beside) await asked(beside.put({ ...one, user }));
    await asked(meta.put(mine, `phone:${user}`));
  });
}

async function checkRoom(store, more) {
  const waiting = [...(await asked(store.getAll())), ...more];
  const bytes = waiting.reduce((sum, one) => sum + (one.photo?.size || 0), 0);
  if (bytes > MOST_WAITING) throw new Full("too many photos wait on this phone");
}

/** Every fact not yet sent, as told. Entries of older programs get what they lack.
 * @returns {Promise<Entry[]>} */
export async function waiting() {
  const found = await within(["facts"], "readonly", (t) => asked(t.objectStore("facts").getAll()));
  return found
    .map((entry) => ({ user: "", seen: {}, computed_from: null, say: "", format: 1, ...entry }))
    .sort((a, b) => (a.at < b.at ? -1 : a.at > b.at ? 1 : a.sequence - b.sequence));
}

/** Words, photos and people not yet sent. @returns {Promise<Object[]>} */
export function besides() {
  return within(["beside"], "readonly", (t) => asked(t.objectStore("beside").getAll()));
}

/** Let go of what the server has. @param {"facts"|"beside"} store @param {string[]} keys */
export function letGo(store, keys) {
  return within([store], "readwrite", async (transaction) => {
    for (const key of keys) await asked(transaction.objectStore(store).delete(key));
  });
}

/** Mark what the server refused, with its reason; it stays here.
 * @param {"facts"|"beside"} store @param {string} key @param {Object} why */
export function refuse(store, key, why) {
  return within([store], "readwrite", async (transaction) => {
    const rows = transaction.objectStore(store);
    const row = await asked(rows.get(key));
    if (row) await asked(rows.put({ ...row, refused: why }));
  });
}

/** Erase words, photos and names that wait: the phone was locked out. */
export function eraseBeside() {
  return within(["beside"], "readwrite", (t) => asked(t.objectStore("beside").clear()));
}

/** @param {string} key @returns {Promise<any>} */
export function noted(key) {
  return within(["meta"], "readonly", (t) => asked(t.objectStore("meta").get(key)));
}

/** @param {string} key @param {any} value */
export function note(key, value) {
  return within(["meta"], "readwrite", (t) => asked(t.objectStore("meta").put(value, key)));
}
