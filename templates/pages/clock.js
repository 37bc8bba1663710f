// The site's time now, on phones whose own clock may be hours off: the instant
// at which the server drew the page, plus what has gone by on this phone since
// it got the page. Read from
//   <html lang data-now="ISO instant of rendering" data-zone="Europe/Amsterdam" [data-hours="12"]>
//   data-kept="ms": added by the worker to a kept copy, the phone's clock when it was fetched
// and written, as "07:12", into
//   [data-clock]: its <time> (or itself, if it is one), else where HH:MM stands in its text
//   input[name=at] of forms with data-keep: the instant, "2026-06-09T05:12:30Z"
"use strict";

self.siteClock = (function () {
  const root = document.documentElement;
  const opened = Date.now();
  const openedRunning = performance.now();
  const told = Date.parse(root.getAttribute("data-now") || "");
  const drawn = isNaN(told) ? opened : told; // a page that tells no time has the phone's
  const got = isNaN(told) ? opened : phoneClockWhenGot();

  // A page may come again from the browser's own store, long after it was drawn:
  // what counts is when this rendering was here first.
  function phoneClockWhenGot() {
    const copied = Number(root.getAttribute("data-kept"));
    if (copied) return copied;
    const key = document.querySelector("input[name=key]"); // tells renderings of one second apart
    const name = location.pathname + " " + drawn + (key ? " " + key.defaultValue : "");
    try {
      const seen = JSON.parse(localStorage.getItem("curing-drawn")) || {};
      if (!(name in seen)) {
        seen[name] = opened;
        Object.keys(seen).slice(0, -40).forEach(function (old) { delete seen[old]; });
        localStorage.setItem("curing-drawn", JSON.stringify(seen));
      }
      return seen[name];
    } catch (error) { // a phone that stores nothing: then this is the first time
      return opened;
    }
  }

  // ms; at least what the page itself has counted, should the phone's clock be set back meanwhile.
  function now() {
    const counted = performance.now() - openedRunning;
    return drawn + Math.max(0, Date.now() - got, opened - got + counted);
  }

  function iso(instant) {
    return new Date(instant).toISOString().slice(0, 19) + "Z";
  }

  function local(instant, options) {
    const shape = { timeZone: root.getAttribute("data-zone") || undefined };
    return new Intl.DateTimeFormat(root.lang || undefined, Object.assign(shape, options)).format(new Date(instant));
  }

  function hourAndMinute(instant) {
    const twelve = root.getAttribute("data-hours") === "12";
    return local(instant, { hour: twelve ? "numeric" : "2-digit", minute: "2-digit", hourCycle: twelve ? "h12" : "h23" });
  }

  // "07:12", with the weekday before it where that is not today.
  function shown(instant) {
    const day = { year: "numeric", month: "numeric", day: "numeric" };
    const today = local(instant, day) === local(now(), day);
    return (today ? "" : local(instant, { weekday: "short" }) + " ") + hourAndMinute(instant);
  }

  function write(element, time) {
    const own = element.tagName === "TIME" ? element : element.querySelector("time");
    if (own) {
      own.textContent = time;
      own.setAttribute("datetime", iso(now()));
      return;
    }
    const texts = document.createTreeWalker(element, NodeFilter.SHOW_TEXT);
    while (texts.nextNode()) {
      const text = texts.currentNode;
      text.data = text.data.replace(/\d?\d:\d\d(?:\s?[AaPp]\.?[Mm]\.?)?/, time);
    }
  }

  function run() {
    if (isNaN(told)) return;
    let time = "";
    try { time = hourAndMinute(now()); } catch (error) { return; } // a zone this phone does not know
    Array.prototype.forEach.call(document.querySelectorAll("[data-clock]"), function (element) { write(element, time); });
    Array.prototype.forEach.call(document.querySelectorAll("form[data-keep] input[name=at]"), function (field) {
      field.value = iso(now());
    });
  }

  function keepRunning() {
    run();
    setTimeout(keepRunning, 60020 - now() % 60000);
  }

  keepRunning();
  document.addEventListener("visibilitychange", run);
  self.addEventListener("pageshow", run);

  return { now: now, run: run, shown: shown, got: got, knows: !isNaN(told) };
})();
