// Forms whose answers are kept on this phone until the service has them, and the
// list of those that wait. Needs queue.js, clock.js and page.js before it.
//   form[data-keep="text"]: fields key, at, visit (any number), ago (minutes) or clock ("HH:MM"); a button's own
//     data-keep (the text for that answer) counts before the form's
//     data-errors: the service shows what is wrong beside its fields, so that a refused one is posted plainly
//     data-then="path": the page that is opened when it was sent; else this one comes again
//   #kept (hidden): the list; on a page without it forms are posted plainly. Its data, where
//     {n}, {text} and {why} are filled in, and -one|other may be any plural category:
//     data-no-signal-one|other, data-no-answer-one|other, data-refused-one|other   heads
//     data-said-kept, data-said-sent-one|other, data-said-refused, data-said-undone
//     data-held-waiting, data-held-sent, data-held-refused   stand in a form instead of its buttons
//     data-every (s between tries, 30), data-patience (s for one answer, 20)
//   in it: .kept-head, .kept-note (shown while some wait), .kept-list,
//     <template class="kept-waiting"> and <template class="kept-refused">, one element in each, in
//     which .kept-text, .kept-time, .kept-why are filled, and .kept-undo, .kept-away are buttons
"use strict";

(function () {
  const ticks = self.keptTicks;
  const clock = self.siteClock;
  const page = self.sitePage;
  const list = document.getElementById("kept");
  const link = ticks.linkOf(location.pathname);

  const LEAVING = 8000; // ms in which a page that was left is not drawn again
  const SLOW = 3000; // ms without an answer after which a tick is listed

  const mine = new Map(); // key -> text of those seen waiting on this page
  let settled = 0; // sent or refused since the page was opened
  let words = ""; // what was said of them last
  let refusedNow = false; // one of them was refused: the list is looked at next
  let onward = ""; // the page to open next
  let trouble = ""; // of the last try: "", "signal", "answer"
  let changed = false; // the person is in the middle of filling in something
  let left = 0; // when a link or another form was pressed, ms: the page is going anyway
  let adding = 0; // ticks on their way to the disk
  let pressed = null; // {form, tick} of the last press, until it is told as kept

  function fill(sentence, values) {
    return (sentence || "").replace(/\{(\w+)\}/g, function (whole, name) {
      return name in values ? values[name] : whole;
    });
  }

  function told(name, values) {
    return fill(list.getAttribute("data-" + name), values);
  }

  function counted(name, n) {
    let category = n === 1 ? "one" : "other";
    try { category = new Intl.PluralRules(document.documentElement.lang || undefined).select(n); } catch (error) { /* old phone */ }
    return told(name + "-" + category, { n: n }) || told(name + "-other", { n: n });
  }

  function keyField(form) {
    return form.elements.namedItem("key");
  }

  function visitsOf(form) {
    return new FormData(form).getAll("visit");
  }

  function keptForms() {
    return Array.prototype.filter.call(document.querySelectorAll("form[data-keep]"), keyField);
  }

  function buttonsOf(form, work) {
    page.each("button, input[type=submit]", work, form);
  }

  function newKey() {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    return Array.prototype.map.call(bytes, function (byte) { return (256 + byte).toString(16).slice(1); }).join("");
  }

  function later(work) {
    work.catch(function () {}); // tried again at the next chance
  }

  // --- forms ------------------------------------------------------------------

  // A fold that holds this form alone; not that of a whole wall.
  function foldOf(form) {
    const fold = form.closest("details");
    return fold && fold.querySelectorAll("form[data-keep]").length === 1 ? fold : null;
  }

  // Says so instead of its buttons; the other forms of the same visit say nothing.
  function hold(form, state, tells) {
    form.setAttribute("data-held", state);
    buttonsOf(form, function (button) { button.disabled = true; });
    const fold = foldOf(form);
    if (fold) fold.hidden = !tells;
    form.hidden = !tells;
    if (!tells) return;
    let note = form.querySelector(".held");
    if (!note) {
      note = document.createElement("p");
      note.className = "held";
      form.appendChild(note);
    }
    note.textContent = told("held-" + state, {});
  }

  function letGo(form) {
    if (!form.hasAttribute("data-held")) return;
    form.removeAttribute("data-held");
    form.hidden = false;
    const fold = foldOf(form);
    if (fold) fold.hidden = false;
    buttonsOf(form, function (button) { button.disabled = false; });
    const note = form.querySelector(".held");
    if (note) note.remove();
  }

  // Open again, with a new key: should the first have reached the service after
  // all, the next answer is judged for itself and not taken for a repeat.
  function openAgain(form) {
    keyField(form).value = newKey();
    letGo(form);
  }

  // The next answer still wanted, unfolded if it was closed.
  function stepFrom(form, tick) {
    const forms = keptForms();
    function isOpen(one) {
      const seen = (one.closest("details") || one).getClientRects().length > 0; // not for another size of screen
      return seen && !one.hasAttribute("data-held") && !isAbout(one, tick);
    }
    const next = forms.slice(forms.indexOf(form) + 1).find(isOpen);
    if (!next) return;
    const fold = next.closest("details");
    if (fold) fold.open = true;
    page.focusOn(fold ? fold.querySelector("summary") : next.querySelector("button"));
  }

  function timeOfWork(form) {
    const answers = new FormData(form);
    if (answers.get("clock")) return { when: null, clock: answers.get("clock") };
    const when = clock.now() - (Number(answers.get("ago")) || 0) * 60000;
    return { when: when, clock: "", shown: clock.shown(when) };
  }

  function fieldsOf(form, button) {
    const fields = [];
    new FormData(form).forEach(function (value, name) { if (typeof value === "string") fields.push([name, value]); });
    if (button && button.name) fields.push([button.name, button.value]);
    return fields;
  }

  function postPlainly(form, button) {
    if (button && button.name) {
      const field = document.createElement("input");
      field.type = "hidden";
      field.name = button.name;
      field.value = button.value;
      form.appendChild(field);
    }
    HTMLFormElement.prototype.submit.call(form);
  }

  let clicked = null; // for phones whose submit event does not name the button

  function onSubmit(event) {
    const form = event.target;
    if (!form.hasAttribute("data-keep") || !keyField(form)) {
      left = Date.now();
      return;
    }
    event.preventDefault();
    if (form.hasAttribute("data-held")) return;
    const button = event.submitter || (clicked && clicked.form === form ? clicked : null);
    clock.run();
    const goal = (button && button.getAttribute("formaction")) || form.getAttribute("action") || "";
    const address = new URL(goal, location.href);
    const tick = Object.assign(timeOfWork(form), {
      key: keyField(form).value,
      visits: visitsOf(form),
      path: address.pathname + address.search,
      fields: fieldsOf(form, button),
      text: (button && button.getAttribute("data-keep")) || form.getAttribute("data-keep"),
      pressed: Date.now()
    });
    changed = false;
    buttonsOf(form, function (one) { one.disabled = true; });
    adding += 1;
    ticks.add(tick).then(function () {
      adding -= 1;
      hold(form, "waiting", true); // and not before it is on the disk
      mine.set(tick.key, tick.text);
      pressed = { form: form, tick: tick };
      if (trouble) tellKept();
      tryToSend();
      askToBeWoken();
      setTimeout(function () { tellSlow(tick.key); }, SLOW);
    }, function () { // this phone keeps nothing: as without script
      adding -= 1;
      buttonsOf(form, function (one) { one.disabled = false; });
      postPlainly(form, button);
    });
  }

  function tellKept() {
    if (!pressed) return;
    page.say(told("said-kept", pressed.tick));
    stepFrom(pressed.form, pressed.tick);
    pressed = null;
  }

  // A weak signal: shown as kept, with its Undo, before the try is given up.
  function tellSlow(key) {
    if (trouble || !mine.has(key)) return;
    trouble = "answer";
    tellKept();
    show();
  }

  function askToBeWoken() {
    if (!self.isSecureContext || !navigator.serviceWorker) return;
    later(navigator.serviceWorker.ready.then(function (worker) { return worker.sync && worker.sync.register("kept"); }));
  }

  // --- the list ---------------------------------------------------------------

  function lineOf(tick) {
    const kind = tick.state === "waiting" ? "kept-waiting" : "kept-refused";
    const line = list.querySelector("template." + kind).content.cloneNode(true).firstElementChild;
    function put(name, text) {
      page.each(name, function (place) { place.textContent = text; }, line);
    }
    put(".kept-text", tick.text);
    put(".kept-time", tick.clock || (clock.knows ? clock.shown(tick.when) : tick.shown) || clock.shown(tick.when));
    put(".kept-why", tick.why);
    page.each(".kept-text", function (place) { place.id = "kept-" + tick.n; }, line);
    page.each(".kept-undo, .kept-away", function (button) {
      button.setAttribute("aria-describedby", "kept-" + tick.n);
      button.addEventListener("click", function () { later(takeBack(tick)); });
    }, line);
    return line;
  }

  async function takeBack(tick) {
    const form = formOf(tick);
    mine.delete(tick.key);
    await ticks.takeBack(tick);
    if (form) openAgain(form);
    if (tick.state === "waiting") page.say(told("said-undone", tick));
    page.focusOn((form && form.querySelector("button")) || list.querySelector("button"));
  }

  // What became of those seen waiting before.
  function hearWhatBecame(waiting, refused, known) {
    let sent = 0;
    mine.forEach(function (text, key) {
      function isIt(tick) { return tick.key === key; }
      if (waiting.some(isIt)) return;
      mine.delete(key);
      const no = refused.find(isIt);
      const form = keptForms().find(function (one) { return keyField(one).value === key; });
      if (no && form && form.hasAttribute("data-errors")) {
        left = Date.now();
        later(ticks.takeBack(no).then(function () {
          openAgain(form);
          postPlainly(form, null);
        }));
        return;
      }
      if (!no && form) onward = form.getAttribute("data-then") || onward;
      if (no) refusedNow = true;
      if (known.some(function (one) { return one.key === key && one.state === "sent"; })) sent += 1;
      if (no) words = told("said-refused", no);
      if (no) page.say(words);
      if (no) settled += 1;
    });
    if (!sent) return;
    settled += sent;
    words = counted("said-sent", sent);
    page.say(words);
  }

  // A visit has several forms, one an answer, and as many again on other pages: a
  // tick answers all forms whose visits are among its own.
  function isAbout(form, tick) {
    const visits = visitsOf(form);
    if (keyField(form).value === tick.key) return true;
    return visits.length > 0 && visits.every(function (visit) { return tick.visits.indexOf(visit) >= 0; });
  }

  function formOf(tick) {
    const about = keptForms().filter(function (form) { return isAbout(form, tick); });
    function isIt(form) { return keyField(form).value === tick.key; }
    function isSeen(form) { return form.getClientRects().length > 0; } // not for another size of screen
    return about.find(isIt) || about.find(isSeen) || about[0];
  }

  function showForms(own, known) {
    keptForms().forEach(function (form) {
      const tick = own.find(function (one) { return isAbout(form, one); });
      const before = known.find(function (one) {
        if (one.key === keyField(form).value) return true;
        return one.state === "sent" && one.at > clock.got && isAbout(form, one); // the page is older than the sending
      });
      const why = tick || before;
      if (tick) hold(form, tick.state, form === formOf(why));
      else if (before && before.state === "sent") hold(form, "sent", form === formOf(why));
      else if (before) openAgain(form);
      else letGo(form);
    });
  }

  function showList(waiting, refused) {
    const heads = [];
    if (waiting.length) heads.push(counted(trouble === "signal" ? "no-signal" : "no-answer", waiting.length));
    if (refused.length) heads.push(counted("refused", refused.length));
    page.each(".kept-head", function (head) { head.textContent = heads.join(" "); }, list);
    page.each(".kept-note", function (note) { note.hidden = !waiting.length; }, list);
    page.each(".kept-list", function (place) {
      const focused = place.contains(document.activeElement);
      place.textContent = "";
      waiting.concat(refused).forEach(function (tick) { place.appendChild(lineOf(tick)); });
      if (focused) page.focusOn(place.querySelector("button"));
    }, list);
    list.hidden = !heads.length;
  }

  let showing = Promise.resolve();

  // One at a time, so that none shows what another has overtaken.
  function show() {
    showing = showing.then(showNow).catch(function () {});
  }

  async function showNow() {
    const own = (await ticks.all()).filter(function (tick) { return ticks.linkOf(tick.path) === link; });
    const known = await ticks.known();
    const waiting = own.filter(function (tick) { return tick.state === "waiting"; });
    const refused = own.filter(function (tick) { return tick.state === "refused"; });
    hearWhatBecame(waiting, refused, known);
    waiting.forEach(function (tick) { mine.set(tick.key, tick.text); });
    showForms(own, known);
    showList(trouble ? waiting : [], refused); // one that goes out at once needs no list
    if (waiting.length || !settled || !mayGo()) return;
    settled = 0;
    page.again(words, refusedNow, onward);
  }

  function mayGo() {
    return !adding && !changed && Date.now() - left > LEAVING;
  }

  // A kept copy gives way to the page itself as soon as that comes quickly.
  function renew() {
    if (!document.documentElement.hasAttribute("data-kept") || !mayGo()) return;
    later(page.comes().then(function () { if (!mine.size && mayGo()) page.again(""); }));
  }

  // --- when -------------------------------------------------------------------

  function tryToSend() {
    later(ticks.sendAll(Number(list.getAttribute("data-patience")) || undefined).then(function (waiting) {
      if (waiting) return;
      trouble = "";
      renew();
    }));
  }

  function start() {
    document.addEventListener("click", function (event) {
      clicked = event.target.closest("button, input[type=submit]");
      if (event.target.closest("a[href]:not([href^='#'])")) left = Date.now();
    }, true);
    document.addEventListener("submit", onSubmit);
    document.addEventListener("input", function () { changed = true; });
    ticks.onNews(function (news) {
      if (news.trouble !== null) trouble = news.trouble;
      if (trouble) tellKept();
      show();
    });
    if (!navigator.onLine) trouble = "signal";
    show();
    tryToSend();
    setInterval(tryToSend, (Number(list.getAttribute("data-every")) || 30) * 1000);
    self.addEventListener("online", tryToSend);
    self.addEventListener("focus", tryToSend);
    self.addEventListener("pageshow", function (event) { if (event.persisted) show(); });
  }

  if (list && self.indexedDB && self.fetch && document.body.closest) start();
})();
