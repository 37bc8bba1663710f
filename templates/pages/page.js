// Small things that script adds to pages that work without it. Words come from
// the server; every part may be missing.
//   .needs-script (rendered with hidden), .needs-script-off
//   .needs-copy (hidden): shown where the page is a kept copy (data-kept, see clock.js)
//   #no-worker (hidden): shown where this phone or address can't keep pages
//   .error: has the focus when the page opens
//   [data-next]: the next wall; has the focus after a tick went out
//   [data-copy="text"] (hidden): button that copies; its data-copied is said then
//   a[data-keep-page]: pages fetched in advance, to be read without signal
//   #said: role=status
"use strict";

self.sitePage = (function () {
  const SOON = 3000; // ms
  const root = document.documentElement;

  function each(selector, work, within) {
    Array.prototype.forEach.call((within || document).querySelectorAll(selector), work);
  }

  function say(sentence) {
    const said = document.getElementById("said");
    if (!said || !sentence) return;
    said.textContent = "";
    setTimeout(function () { said.textContent = sentence; }, 100); // the same words twice are said twice
  }

  function focusOn(element) {
    if (!element) return;
    if (element.tabIndex < 0) element.tabIndex = -1;
    element.focus({ preventScroll: true });
    element.scrollIntoView({ block: "nearest" });
  }

  function copyText(button) {
    const text = button.getAttribute("data-copy");
    function done() { say(button.getAttribute("data-copied")); }
    function byHand() { // plain http
      const field = document.createElement("textarea");
      field.value = text;
      document.body.appendChild(field);
      field.select();
      if (document.execCommand("copy")) done();
      field.remove();
      button.focus();
    }
    if (navigator.clipboard) navigator.clipboard.writeText(text).then(done, byHand);
    else byHand();
  }

  function showWhatScriptCan() {
    each(".needs-script-off", function (element) { element.hidden = true; });
    each(".needs-script", function (element) { element.hidden = false; });
    if (root.hasAttribute("data-kept")) each(".needs-copy", function (element) { element.hidden = false; });
    each("[data-copy]", function (button) {
      button.hidden = false;
      button.addEventListener("click", function () { copyText(button); });
    });
  }

  function startWorker() {
    const none = document.getElementById("no-worker");
    function tellNone() { if (none) none.hidden = false; }
    if (!self.isSecureContext || !navigator.serviceWorker) {
      tellNone();
      return;
    }
    navigator.serviceWorker.register("/sw.js").catch(function () {
      if (navigator.onLine && !navigator.serviceWorker.controller) tellNone(); // not just out of signal
    });
    const ahead = [];
    each("a[data-keep-page]", function (anchor) { ahead.push(anchor.href); });
    const sparing = navigator.connection && navigator.connection.saveData;
    if (!ahead.length || sparing || root.hasAttribute("data-kept")) return;
    navigator.serviceWorker.ready.then(function (registration) { registration.active.postMessage({ keep: ahead }); });
  }

  // Resolves if the service gives this page, and soon.
  function comes() {
    const stop = typeof AbortController === "function" ? new AbortController() : null;
    const options = { method: "HEAD", cache: "no-store" };
    if (stop) options.signal = stop.signal;
    return new Promise(function (resolve, reject) {
      setTimeout(function () {
        reject(new Error("no answer in time"));
        if (stop) stop.abort();
      }, SOON);
      fetch(location.href, options).then(function (answer) {
        if (answer.status < 500 && answer.status !== 429) resolve();
        else reject(new Error(String(answer.status)));
      }, reject);
    });
  }

  // The page again, as the service knows it now, at the same place; said and
  // then at the next wall if there are words to say. At its head, where the
  // list is, if something was refused; another page if onward names one.
  function again(words, refused, onward) {
    const path = onward ? new URL(onward, location.href).pathname : location.pathname;
    function go() {
      if (onward) location.assign(onward);
      else location.reload();
    }
    try {
      const back = { path: path, top: refused || onward ? 0 : self.pageYOffset, words: words, refused: refused };
      sessionStorage.setItem("curing-back", JSON.stringify(back));
      history.scrollRestoration = "manual";
    } catch (error) { /* then it opens where the browser likes */ }
    // Without the worker a page that does not come is an empty page: look first.
    if (navigator.serviceWorker && navigator.serviceWorker.controller) go();
    else comes().then(go, function () {});
  }

  function comeBack() {
    let back = null;
    try {
      back = JSON.parse(sessionStorage.getItem("curing-back"));
      sessionStorage.removeItem("curing-back");
    } catch (error) { /* see above */ }
    const wrong = document.querySelector(".error");
    if (back && back.path === location.pathname) {
      self.scrollTo(0, back.top);
      self.addEventListener("load", function () { // until then the browser would put it back itself
        setTimeout(function () { history.scrollRestoration = "auto"; }, 0);
      });
      say(back.words);
      if (back.words && !back.refused && !wrong) focusOn(document.querySelector("[data-next]"));
    }
    focusOn(wrong);
  }

  showWhatScriptCan();
  comeBack();
  startWorker();

  return { each: each, say: say, focusOn: focusOn, comes: comes, again: again };
})();
