// The worker: keeps the pages that were seen readable without signal, and sends
// kept ticks when the phone wakes it. The server writes the three values below.
//   STATIC     paths of this version's fixed files, queue.js among them
//   VERSION    names the caches of this version
//   NO_SIGNAL  one of STATIC: the page shown where no copy of a page is kept
"use strict";

const STATIC = /*STATIC*/[];
const VERSION = /*VERSION*/"";
const NO_SIGNAL = /*NO_SIGNAL*/"";

const FIXED = "curing-static-" + VERSION;
const PAGES = "curing-pages-" + VERSION;
const PATIENCE = 4000; // ms for a page, where a kept copy could be shown instead
const MOST_PAGES = 40;
const MOST_AHEAD = 12; // pages kept in advance for one page that asks
const YOUNG = 600000; // ms: a copy younger than this is not fetched in advance again

const QUEUE = STATIC.find(function (path) { return path.endsWith("/queue.js"); });
if (QUEUE) importScripts(QUEUE);
const ticks = self.keptTicks;

self.addEventListener("install", function (event) {
  event.waitUntil((async function () {
    const fixed = await caches.open(FIXED);
    await fixed.addAll(STATIC);
    await self.skipWaiting();
  })());
});

self.addEventListener("activate", function (event) {
  event.waitUntil(self.clients.claim());
  // The page that brought this worker was fetched before the worker was there:
  // keep it now, or the first walk without signal would begin with nothing.
  // Not waited for: until a worker is active no page of it loads.
  keepOpenPages().catch(function () {});
});

async function keepOpenPages() {
  for (const open of await self.clients.matchAll({ type: "window" })) await keepAhead(open.url).catch(function () {});
}

// --- pages --------------------------------------------------------------------

function placeOf(url) {
  const place = new URL(url);
  place.hash = "";
  return place;
}

// Ours, whole, and telling its own instant; not the log-in page of some network.
function worthKeeping(answer, text) {
  return answer.status === 200 && /\bdata-now="/.test(text);
}

// Keeps a copy that tells when this phone got it: by data-kept the page knows
// that it is a copy, and how much time has gone since the server drew it.
async function keep(place, answer, arrived) {
  if (answer.type === "opaqueredirect" || answer.redirected) return;
  if (answer.status === 410) return ticks.clearPages(ticks.linkOf(place.pathname));
  if (answer.status === 404) {
    // The start of a link unknown: the link is gone. Another page: that page is gone.
    const whole = /^\/s\/[^/]+\/(?:today)?$/.test(place.pathname);
    return ticks.clearPages(ticks.linkOf(place.pathname), whole ? "" : place.pathname);
  }
  if (!/^text\/html/i.test(answer.headers.get("Content-Type") || "")) return;
  const text = await answer.text();
  if (!worthKeeping(answer, text)) return;
  const headers = new Headers(answer.headers);
  headers.delete("Content-Encoding");
  headers.delete("Content-Length");
  const copy = new Response(text.replace(/<html\b/i, '<html data-kept="' + arrived + '"'), { headers: headers });
  const pages = await caches.open(PAGES);
  await pages.delete(place.href);
  await pages.put(place.href, copy);
  const all = await pages.keys(); // oldest first
  for (const old of all.slice(0, Math.max(0, all.length - MOST_PAGES))) await pages.delete(old);
  await dropOtherVersions();
}

// Only once this version has a page of its own: a phone that updates at the
// gate and then loses the signal still has the pages of the version before.
async function dropOtherVersions() {
  for (const name of await caches.keys()) {
    if (name.indexOf("curing-") === 0 && name !== FIXED && name !== PAGES) await caches.delete(name);
  }
}

async function keptCopy(place) {
  // The link itself, as it was saved on the phone, leads to one of these two.
  const root = /^\/s\/[^/]+\/?$/.exec(place.pathname);
  const start = root ? place.origin + root[0].replace(/\/$/, "") : "";
  const names = root ? [place.href, start + "/today", start + "/client"] : [place.href];
  const pages = await caches.open(PAGES);
  for (const name of names) {
    const copy = (await pages.match(name)) || (await caches.match(name));
    if (copy) return copy;
  }
  return undefined;
}

async function page(event) {
  const place = placeOf(event.request.url);
  const kept = await keptCopy(place);
  const answered = fetch(event.request).then(function (answer) {
    event.waitUntil(keep(place, answer.clone(), Date.now()).catch(function () {}));
    return answer;
  });
  event.waitUntil(answered.catch(function () {}));
  if (!kept) {
    return answered.catch(async function () {
      return (NO_SIGNAL && (await caches.match(NO_SIGNAL))) || Response.error();
    });
  }
  const late = new Promise(function (resolve) { setTimeout(resolve, PATIENCE, null); });
  const first = await Promise.race([answered.catch(function () { return null; }), late]);
  return first === null || first.status === 429 || first.status >= 500 ? kept : first;
}

async function fixedFile(request) {
  const fixed = await caches.open(FIXED);
  return (await fixed.match(request)) || (await caches.match(request)) || fetch(request);
}

self.addEventListener("fetch", function (event) {
  const request = event.request;
  if (request.method !== "GET") return;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  if (url.pathname.indexOf("/static/") === 0) event.respondWith(fixedFile(request));
  else if (request.mode === "navigate" && ticks.linkOf(url.pathname)) event.respondWith(page(event));
});

// --- pages in advance, ticks in the background -----------------------------------

async function keepAhead(url) {
  const place = placeOf(url);
  if (place.origin !== self.location.origin || !ticks.linkOf(place.pathname)) return;
  const pages = await caches.open(PAGES);
  const copy = await pages.match(place.href);
  if (copy) {
    const since = /<html data-kept="(\d+)"/i.exec(await copy.text());
    const age = since ? Date.now() - Number(since[1]) : -1;
    if (age >= 0 && age < YOUNG) return;
  }
  const answer = await fetch(place.href, { credentials: "same-origin", headers: { "Accept": "text/html" } });
  await keep(place, answer, Date.now());
}

self.addEventListener("message", function (event) {
  const wanted = event.data && event.data.keep;
  if (!Array.isArray(wanted) || !event.source || !event.source.url) return;
  const link = ticks.linkOf(new URL(event.source.url).pathname);
  event.waitUntil((async function () {
    for (const url of wanted.slice(0, MOST_AHEAD)) {
      if (ticks.linkOf(new URL(url, self.location.href).pathname) !== link) continue;
      await keepAhead(new URL(url, self.location.href).href).catch(function () {});
    }
  })());
});

self.addEventListener("sync", function (event) {
  if (event.tag !== "kept") return;
  event.waitUntil(ticks.sendAll().then(function (left) {
    if (left) throw new Error(left + " still wait"); // the phone wakes the worker again later
  }));
});
