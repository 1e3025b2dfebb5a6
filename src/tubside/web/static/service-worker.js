// Keeps pages for when there is no signal, and takes what forms tell meanwhile.
// The server puts SHELL = {version, assets, days} in front; another version, another text.

import { factsToKeep, noSignal, refusalPage } from "./kept-form.js";
import { eraseBeside, note, noted } from "./outbox.js";
import { flush } from "./sending.js";

const FILES = `files-${SHELL.version}`;
const COPIES = "copies";
const KEPT_AT = "tubside-kept-at";
/** Pages of which a copy is kept; a job's page by its own address alone. */
const KEPT = /^\/($|call$|offline$|offline\/job$|day(\/|$)|jobs\/)/;
const DATA = /^\/jobs\/[^/]+\/pocket\.json$/;
const SLOW = { page: 8000, form: 15000, frame: 12000 };
const MORE = ["panel", "trouble", "machine", "person", "closing", "steps", "used", "trip", "safety"];
/** Pages of a job that is at hand, beside its own. */
const PAUSE = 50;
/** How often all copies were forgotten: what was asked for before that is not kept after it. */
let forgotten = 0;

self.addEventListener("install", (event) => {
  event.waitUntil(installed());
});

async function installed() {
  const files = await caches.open(FILES);
  await files.addAll(SHELL.assets);
  await self.skipWaiting();
}

self.addEventListener("activate", (event) => {
  event.waitUntil(activated());
});

async function activated() {
  // copies of pages may still name files of the version before this one
  const old = (await caches.keys()).filter((n) => n.startsWith("files-") && n !== FILES);
  for (const name of old.slice(0, -1)) await caches.delete(name);
  await self.clients.claim();
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  if (request.method === "POST" && request.mode === "navigate") {
    event.respondWith(posted(request, url));
  } else if (request.method !== "GET") {
    return;
  } else if (url.pathname.startsWith("/static/")) {
    event.respondWith(file(request));
  } else if (request.mode === "navigate") {
    event.respondWith(page(request, url));
  } else if (DATA.test(url.pathname)) {
    event.respondWith(data(request, url));
  }
});

self.addEventListener("sync", (event) => {
  if (event.tag === "send") event.waitUntil(sent().catch(() => {}));
});

/** Signal is back: send what waits, and let pages that wait know of it. */
async function sent() {
  await flush();
  for (const page of await self.clients.matchAll()) page.postMessage("sent");
  await refresh("");
}

self.addEventListener("message", (event) => {
  const { ask, path } = event.data || {};
  if (ask === "refresh") event.waitUntil(refresh(path || "").catch(() => {}));
  if (ask === "clear") event.waitUntil(clearCopies());
});

/** A promise that gives up after some time. @param {Promise<Response>} work @param {number} ms */
function within(work, ms) {
  const late = new Promise((_, reject) => { setTimeout(reject, ms, new Error("too slow")); });
  return Promise.race([work, late]);
}

async function file(request) {
  const found = await caches.match(request);
  if (found) return found;
  return fetch(request);
}

async function page(request, url) {
  const since = forgotten;
  const fetched = fetch(request);
  try {
    const answer = await within(fetched, SLOW.page);
    if (answer.ok && KEPT.test(url.pathname) && !url.search) await keepCopy(url.pathname, answer.clone(), since);
    return answer;
  } catch {
    // a slow server is no lack of signal: where nothing is held, its answer is waited for
    return (await held(url)) || inPlace(fetched, url);
  }
}

/** The page after all; for a job's, where none comes, the frame that a phone fills.
 * @param {Promise<Response>} fetched @param {URL} url */
async function inPlace(fetched, url) {
  try {
    return await within(fetched, SLOW.frame);
  } catch {
    const frame = /^\/jobs\/[^/]+/.test(url.pathname) ? await copy("/offline/job") : null;
    return frame || fetched.catch(() => noSignal(SHELL.assets));
  }
}

/** What this phone holds in place of a page. @param {URL} url */
async function held(url) {
  const path = url.pathname === "/day" ? `/day/${await noted("day")}` : url.pathname;
  return copy(path);
}

async function data(request, url) {
  const since = forgotten;
  try {
    const answer = await within(fetch(request), SLOW.page);
    if (answer.ok) await keepCopy(url.pathname, answer.clone(), since);
    return answer;
  } catch {
    return (await copy(url.pathname)) || Response.error();
  }
}

/** A form: to the server where there is signal, else into the outbox. */
async function posted(request, url) {
  const spare = request.clone();
  try {
    const answer = await within(fetch(request), SLOW.form);
    if (url.pathname === "/logout") await clearCopies();
    return answer;
  } catch {
    try {
      const go = await factsToKeep(await spare.formData(), url.pathname);
      if (self.registration.sync) self.registration.sync.register("send").catch(() => {});
      return Response.redirect(new URL(go, self.location.origin).href, 303);
    } catch (wrong) {
      return refusalPage(wrong, SHELL.assets);
    }
  }
}

/** @param {string} path @param {Response} answer @param {number} since `forgotten` when it was asked for */
async function keepCopy(path, answer, since) {
  if (!answer.ok || answer.redirected) return;
  const headers = new Headers(answer.headers);
  for (const name of ["content-encoding", "content-length"]) headers.delete(name);  // it is unpacked
  headers.set(KEPT_AT, String(Date.now()));
  headers.set("server-timing", "copy");  // so that the page knows, wherever it comes from
  const body = await answer.blob();
  if (since !== forgotten) return;
  const copies = await caches.open(COPIES);
  try {
    await copies.put(path, new Response(body, { status: answer.status, headers }));
    if (since !== forgotten) await copies.delete(path);  // a logout came while it was written
  } catch {
    await caches.delete(COPIES);  // full: pages can be fetched again, facts could not
  }
}

/** The copy of a page, None where there is none or it is too old. */
async function copy(path) {
  const copies = await caches.open(COPIES);
  const found = await copies.match(path);
  if (!found) return undefined;
  if (Date.now() - Number(found.headers.get(KEPT_AT)) > SHELL.days * 86400e3) {
    await copies.delete(path);
    return undefined;
  }
  return found;
}

async function clearCopies() {
  forgotten += 1;
  const since = forgotten;
  await caches.delete(COPIES);
  await note("states", {});
  return since;
}

/** Hold what is to be held, and nothing else; all gone when nobody is logged in here.
 * @param {string} path of the page that asks */
async function refresh(path) {
  let since = forgotten;
  const answer = await fetch("/offline/list.json", { cache: "no-store" });
  if (answer.status === 401 || answer.status === 423) {
    await clearCopies();
    if (answer.headers.get("tubside-phone") === "locked") await eraseBeside();
    return;
  }
  if (!answer.ok || answer.redirected) return;
  const wanted = await answer.json();
  if ((await noted("holder")) !== wanted.user) {
    stopIfForgotten(since);
    since = await clearCopies();
    await note("holder", wanted.user);
  }
  await dropOthers(new Set(wanted.jobs.map((job) => job.id)));
  for (const one of ["/", "/call", "/offline/job", "/offline"]) await fetchCopy(one, since);
  const states = (await noted("states")) || {};
  const first = wanted.jobs.filter((job) => path.startsWith(`/jobs/${job.id}`));
  for (const job of [...first, ...wanted.jobs]) {
    const near = first.includes(job) || /-(on-site|visit-booked)$/.test(job.state);
    const state = `${job.state} ${SHELL.version} ${near}`;
    if (states[job.id] === state) continue;
    await fetchJob(job.id, near, since);
    states[job.id] = state;
    await noteStates(states, since);
  }
  await note("day", wanted.day);
  const planned = [SHELL.version, wanted.day, ...wanted.jobs.map((job) => job.state)].join(" ");
  if (states.day !== planned) {  // planning takes the server a moment, so not at every page
    await fetchCopy(`/day/${wanted.day}`, since);
    states.day = planned;
    await noteStates(states, since);
  }
}

/** A logout or a lock-out ends what was being fetched for who was logged in before. */
function stopIfForgotten(since) {
  if (since !== forgotten) throw new Error("logged out meanwhile");
}

/** What is held; noted as held after a logout, it would never be fetched again. */
async function noteStates(states, since) {
  stopIfForgotten(since);
  await note("states", states);
}

async function fetchJob(job, near, since) {
  await fetchCopy(`/jobs/${job}`, since);
  await fetchCopy(`/jobs/${job}/pocket.json`, since);
  if (!near) return;
  for (const more of MORE) await fetchCopy(`/jobs/${job}/${more}`, since);
}

async function fetchCopy(path, since) {
  stopIfForgotten(since);
  const answer = await fetch(path, { cache: "no-store", headers: { accept: "text/html,*/*" } });
  await keepCopy(path, answer, since);
  await new Promise((resolve) => { setTimeout(resolve, PAUSE); });
}

async function dropOthers(jobs) {
  const copies = await caches.open(COPIES);
  for (const request of await copies.keys()) {
    const [, what, job] = new URL(request.url).pathname.split("/");
    if (what === "jobs" && !jobs.has(job)) await copies.delete(request);
  }
}
