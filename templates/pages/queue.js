// Ticks kept on this phone until the service has taken them: one queue for all
// pages and for the worker of this address. Loaded by a script tag in pages and
// by importScripts in the worker, so nothing here touches a document.
//
// One kept tick:
//   n       place in the order of presses (given by the database)
//   key     made by the server once a rendering, or here after an Undo; the
//           service counts it once however often it is sent
//   path    where it is posted, with the person's link in it
//   visits  ids of the visits it answers; one answer for each is enough
//   fields  [[name, value], ...] as the form would have posted them
//   text    what the list shows, from the server
//   pressed the phone's clock at the press, ms
//   when    true instant that the list shows, ms, or null where the person set
//   clock   a time by hand ("06:40", "" where not)
//   state   "waiting", or "refused" with
//   why     the service's sentence
"use strict";

self.keptTicks = (function () {
  const DATABASE = "curing";
  const PATIENCE = 20; // s for one answer; then it is tried again later
  const LONGEST_PAUSE = 600000; // ms, whatever a Retry-After asks for
  const REMEMBERED = 3 * 86400000; // ms that the keys of sent and undone ticks are known
  const LATER = [408, 425, 429]; // answers below 500 that ask to come again
  const ALL_DOWN = [502, 503, 504]; // not this tick's fault: the others would fare the same

  const hearers = [];
  const channel = typeof BroadcastChannel === "function" ? new BroadcastChannel("curing-kept") : null;
  if (channel) channel.onmessage = function (event) { tell(event.data); };

  function tell(news) {
    hearers.forEach(function (hear) { hear(news); });
  }

  function tellAll(news) {
    if (channel) channel.postMessage(news);
    tell(news);
  }

  // --- the database ---------------------------------------------------------

  let opening = null;

  function open() {
    if (!opening) {
      opening = new Promise(function (resolve, reject) {
        const asked = indexedDB.open(DATABASE, 1);
        asked.onupgradeneeded = function () {
          const kept = asked.result.createObjectStore("kept", { keyPath: "n", autoIncrement: true });
          kept.createIndex("key", "key", { unique: true });
          asked.result.createObjectStore("known", { keyPath: "key" }); // keys sent or undone
          asked.result.createObjectStore("pause", { keyPath: "name" });
        };
        asked.onerror = function () { reject(asked.error); };
        asked.onsuccess = function () {
          const database = asked.result;
          // A later version of the pages may change the database: do not stand in its way.
          database.onversionchange = function () { database.close(); opening = null; };
          database.onclose = function () { opening = null; };
          resolve(database);
        };
      });
      opening.catch(function () { opening = null; });
    }
    return opening;
  }

  // Resolves with what `work` asked for, and only once it is on the disk.
  async function inDatabase(mode, work, again) {
    const database = await open();
    try {
      return await new Promise(function (resolve, reject) {
        const change = database.transaction(["kept", "known", "pause"], mode, { durability: "strict" });
        const asked = work(function (name) { return change.objectStore(name); }, change);
        change.oncomplete = function () { resolve(asked && asked.result); };
        change.onabort = change.onerror = function () { reject(change.error || (asked && asked.error)); };
      });
    } catch (error) {
      // Some phones drop the connection of a page that slept.
      if (again || !error || error.name !== "InvalidStateError") throw error;
      opening = null;
      return inDatabase(mode, work, true);
    }
  }

  function all() {
    return inDatabase("readonly", function (store) { return store("kept").getAll(); });
  }

  // Ticks that were sent or taken back: {key, visits, state: "sent" or "undone", at: ms}.
  function known() {
    return inDatabase("readonly", function (store) { return store("known").getAll(); });
  }

  // False if this key is in the queue already: another tab was quicker.
  async function add(tick) {
    try {
      await inDatabase("readwrite", function (store, change) {
        const asked = store("kept").add(Object.assign({ state: "waiting", why: "" }, tick));
        if (change.commit) change.commit(); // at once: the next press may leave the page
        return asked;
      });
    } catch (error) {
      if (error && error.name === "ConstraintError") return false;
      throw error;
    }
    // Ask the phone not to clear what is kept when it runs short of space.
    if (self.navigator.storage && navigator.storage.persist) navigator.storage.persist().catch(function () {});
    tellAll({ trouble: null });
    return true;
  }

  function takeOut(tick, state) {
    return inDatabase("readwrite", function (store) {
      store("kept").delete(tick.n);
      if (state) store("known").put({ key: tick.key, visits: tick.visits, state: state, at: Date.now() });
    });
  }

  // The person's Undo, or a refused one put away. A tick may have reached the
  // service although no answer came back: then the next page shows it as done.
  async function takeBack(tick) {
    await takeOut(tick, "undone");
    tellAll({ trouble: null });
  }

  async function refuse(tick, why) {
    await inDatabase("readwrite", function (store) {
      const asked = store("kept").get(tick.n);
      asked.onsuccess = function () {
        if (asked.result) store("kept").put(Object.assign(asked.result, { state: "refused", why: why }));
      };
    });
  }

  async function forgetOldKeys() {
    const before = Date.now() - REMEMBERED;
    await inDatabase("readwrite", function (store) {
      store("known").openCursor().onsuccess = function (event) {
        const cursor = event.target.result;
        if (!cursor) return;
        if (cursor.value.at < before) cursor.delete();
        cursor.continue();
      };
    });
  }

  // --- sending --------------------------------------------------------------

  function linkOf(path) {
    const found = /^\/s\/([A-Za-z0-9_-]+)(?:\/|$)/.exec(path);
    return found ? found[1] : "";
  }

  // Clears the kept pages of a link that is no more (or one page of it).
  async function clearPages(link, onlyPath) {
    if (!self.caches || !link) return;
    for (const name of await caches.keys()) {
      if (name.indexOf("curing-pages-") !== 0) continue;
      const cache = await caches.open(name);
      for (const asked of await cache.keys()) {
        const path = new URL(asked.url).pathname;
        if (linkOf(path) === link && (!onlyPath || path === onlyPath)) await cache.delete(asked);
      }
    }
  }

  function answerInTime(path, options, patience) {
    const stop = typeof AbortController === "function" ? new AbortController() : null;
    if (stop) options.signal = stop.signal;
    let timer = 0;
    const tooLong = new Promise(function (resolve, reject) {
      timer = setTimeout(function () {
        reject(new Error("no answer in time"));
        if (stop) stop.abort();
      }, patience * 1000);
    });
    const answered = fetch(path, options).then(async function (answer) {
      return { status: answer.status, pause: answer.headers.get("Retry-After"), body: await answer.text() };
    });
    answered.catch(function () {}); // heard of by the race, or too late to matter
    return Promise.race([answered, tooLong]).then(
      function (answer) { clearTimeout(timer); return answer; },
      function (error) { clearTimeout(timer); throw error; }
    );
  }

  // One try. "sent", "refused", or why it stays: "signal" (nothing came back),
  // "answer" (not our service, or it has trouble), "this" (trouble with this tick alone).
  async function send(tick, patience) {
    const body = new URLSearchParams();
    tick.fields.forEach(function (field) { body.append(field[0], field[1]); });
    body.append("waited", String(Math.max(0, Math.round((Date.now() - tick.pressed) / 1000))));
    let answer;
    try {
      answer = await answerInTime(tick.path, {
        method: "POST",
        headers: { "Accept": "application/json", "Content-Type": "application/x-www-form-urlencoded;charset=UTF-8" },
        body: body.toString(),
        credentials: "same-origin",
        cache: "no-store",
        redirect: "manual" // a network that asks for a log-in first: not our answer
      }, patience);
    } catch (error) {
      return "signal";
    }
    let said = null;
    try { said = JSON.parse(answer.body); } catch (error) { said = null; }
    const ours = said !== null && typeof said === "object" && typeof said.kept === "boolean";
    if (ours && said.kept && answer.status === 200) {
      await takeOut(tick, "sent");
      return "sent";
    }
    if (ours && !said.kept && answer.status < 500 && LATER.indexOf(answer.status) < 0) {
      await refuse(tick, String(said.text || answer.status));
      if (answer.status === 410) await clearPages(linkOf(tick.path)).catch(function () {});
      return "refused";
    }
    if (answer.status === 429 || answer.status === 503) await pauseFor(Number(answer.pause) || 0);
    return answer.status >= 500 && ALL_DOWN.indexOf(answer.status) < 0 ? "this" : "answer";
  }

  function pauseFor(seconds) {
    const until = Date.now() + Math.min(seconds * 1000, LONGEST_PAUSE);
    return inDatabase("readwrite", function (store) { return store("pause").put({ name: "sending", until: until }); });
  }

  async function paused() {
    const row = await inDatabase("readonly", function (store) { return store("pause").get("sending"); });
    const left = row ? row.until - Date.now() : 0;
    return left > 0 && left <= LONGEST_PAUSE; // more: the phone's clock was set back meanwhile
  }

  async function sendAllOnce(patience) {
    let last = 0;
    let trouble = "";
    if (await paused()) trouble = "answer";
    while (!trouble || trouble === "this") {
      const next = (await all()).find(function (tick) { return tick.state === "waiting" && tick.n > last; });
      if (!next) break;
      last = next.n;
      const result = await send(next, patience);
      if (result === "signal" || result === "answer" || result === "this") trouble = result;
      else tellAll({ trouble: null });
    }
    const left = (await all()).filter(function (tick) { return tick.state === "waiting"; }).length;
    if (!left) trouble = "";
    tellAll({ trouble: trouble === "this" ? "answer" : trouble });
    return left;
  }

  // One sender at a time over all tabs and the worker, where the phone has locks.
  // Where it has none, or a frozen tab sits on the lock, two may send: the
  // service counts each key once all the same.
  async function locked(work, patience) {
    if (!self.navigator.locks) return work();
    const options = {};
    let timer = 0;
    if (typeof AbortController === "function") {
      const stop = new AbortController();
      options.signal = stop.signal;
      timer = setTimeout(function () { stop.abort(); }, (patience + 5) * 1000);
    }
    let begun = false;
    try {
      return await navigator.locks.request("curing-kept", options, function () {
        begun = true;
        clearTimeout(timer);
        return work();
      });
    } catch (error) {
      if (begun) throw error;
      return work();
    }
  }

  let running = null;
  let oneMore = false;

  // Tries all that wait, in order. Resolves with the number that still wait.
  function sendAll(patience) {
    if (running) {
      oneMore = true;
      return running;
    }
    running = (async function () {
      let left = 0;
      try {
        do {
          oneMore = false;
          const waits = (await all()).some(function (tick) { return tick.state === "waiting"; });
          left = waits ? await locked(function () { return sendAllOnce(patience || PATIENCE); }, patience || PATIENCE) : 0;
        } while (oneMore);
      } finally {
        running = null;
      }
      forgetOldKeys().catch(function () {});
      return left;
    })();
    return running;
  }

  return {
    all: all,
    known: known,
    add: add,
    takeBack: takeBack,
    sendAll: sendAll,
    linkOf: linkOf,
    clearPages: clearPages,
    // Called with {trouble: "" | "signal" | "answer" | null (not tried)} after each change, from any tab.
    onNews: function (hear) { hearers.push(hear); }
  };
})();
