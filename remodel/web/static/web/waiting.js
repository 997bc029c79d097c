/* Marks that wait until the server has them. They outlive the page, are sent from whichever page is
   open, and are counted at its top. A page that was kept for want of a signal says so there too. */
(function () {
  "use strict";

  var MARKS = "halfbay-marks"; /* what waits, by name */
  var SENT = "halfbay-sent"; /* what was sent of late, for pages that were kept before */
  var REFUSED = "halfbay-refused"; /* what the server did not take, until somebody has read it */
  var KEPT_FOR = 14 * 24 * 3600 * 1000;
  var NEXT_TRY = 10000;
  var NO_ANSWER = 15000;
  var HELD = "Kept on this phone; sent when the signal is back.";
  var SIGN_IN = "Kept on this phone; sign in again, then it is sent.";

  var root = document.documentElement;
  var who = root.dataset.who || "";
  var keptAt = root.dataset.kept ? Date.parse(root.dataset.kept) : 0;
  var bar = document.getElementById("waiting");
  var words = ""; /* why the last try sent nothing */
  var sending = false;

  function read(place) {
    try { return JSON.parse(localStorage.getItem(place)) || {}; } catch (error) { return {}; }
  }

  function write(place, value) {
    try { localStorage.setItem(place, JSON.stringify(value)); return true; } catch (error) { return false; }
  }

  function forget() {
    [MARKS, SENT, REFUSED].forEach(function (place) {
      try { localStorage.removeItem(place); } catch (error) { /* nothing is kept then */ }
    });
    if (navigator.serviceWorker && navigator.serviceWorker.controller) {
      navigator.serviceWorker.controller.postMessage({ wipe: true });
    }
  }

  /* What somebody else marked on this phone stays until that person is here again. */
  function mine(marks) {
    return Object.keys(marks).filter(function (name) { return !marks[name].who || marks[name].who === who; });
  }

  function forms() { return Array.from(document.querySelectorAll("form[data-mark]")); }

  function field(form, name) { return form.querySelector("[name=" + name + "]").value; }

  function nameOf(form) {
    return [form.getAttribute("action"), field(form, "kind"), field(form, "plan"), field(form, "item")].join(" ");
  }

  function formOf(name) {
    return forms().find(function (form) { return nameOf(form) === name; });
  }

  /* Tell the page how a mark stands now. */
  function tell(name, done, text) {
    document.dispatchEvent(new CustomEvent("mark", { detail: { name: name, done: done, words: text } }));
  }

  function newKey() {
    return Array.from(crypto.getRandomValues(new Uint8Array(16)), function (each) { return each.toString(16).padStart(2, "0"); }).join("");
  }

  /* Keep a press on a form and send it. False where nothing can be kept: then it is a plain post. */
  function add(form, done) {
    var marks = read(MARKS);
    var about = form.querySelector(".unseen");
    marks[nameOf(form)] = {
      to: form.getAttribute("action"),
      fields: {
        kind: field(form, "kind"), plan: field(form, "plan"), item: field(form, "item"), done: done, key: newKey()
      },
      who: who,
      about: about ? about.textContent.trim() : field(form, "item"),
      page: location.pathname
    };
    return write(MARKS, marks);
  }

  function token() {
    var input = document.querySelector("[name=csrfmiddlewaretoken]");
    if (input) return input.value;
    try { return JSON.parse(document.body.getAttribute("hx-headers"))["X-CSRFToken"]; } catch (error) { return ""; }
  }

  function send() {
    var marks = read(MARKS);
    var name = mine(marks)[0];
    if (!name || !who || sending) {
      show();
      return;
    }
    sending = true;
    var mark = marks[name];
    var abort = new AbortController();
    /* A question can be asked only where its form is; elsewhere only what stops the work is told. */
    var here = Boolean(formOf(name));
    var late = setTimeout(function () { abort.abort(); }, NO_ANSWER);
    fetch(mark.to, {
      method: "POST",
      headers: { "X-CSRFToken": token(), "X-Marks": "yes", "X-Here": here ? "yes" : "no" },
      body: new URLSearchParams(mark.fields),
      redirect: "manual",
      signal: abort.signal
    }).then(function (answer) {
      if (answer.type === "opaqueredirect" || answer.status >= 500 || answer.status === 429) {
        hold(answer.type === "opaqueredirect" ? SIGN_IN : HELD);
        return null;
      }
      return answer.text().then(function (text) {
        var now = read(MARKS);
        if (now[name] && now[name].fields.key === mark.fields.key) { delete now[name]; write(MARKS, now); }
        if (answer.status === 409 && askFirst(name)) return null;
        words = "";
        if (answer.ok) sent(name, mark, now[name]);
        else refused(name, mark, answer.status === 422 || answer.status === 409 ? text : "Not kept: load this page again, then mark it again.");
        return true;
      });
    }, function () { hold(HELD); return null; }).then(function (more) {
      clearTimeout(late);
      sending = false;
      if (more) send();
      else show();
    });
  }

  /* `newer` is a press on the same mark that came while this one was on its way. */
  function sent(name, mark, newer) {
    var known = read(SENT);
    var oldest = Date.now() - KEPT_FOR;
    Object.keys(known).forEach(function (each) { if (known[each].at < oldest) delete known[each]; });
    known[name] = { done: mark.fields.done, at: Date.now(), who: mark.who };
    write(SENT, known);
    tell(name, newer ? newer.fields.done : mark.fields.done, "");
  }

  function refused(name, mark, text) {
    if (formOf(name)) {
      tell(name, mark.fields.done === "yes" ? "no" : "yes", text);
      return;
    }
    var told = read(REFUSED);
    told[name] = { about: mark.about || mark.fields.item, page: mark.page, text: text, who: mark.who };
    write(REFUSED, told);
  }

  /* Something comes first: the form is sent plainly, and its page asks. False where it is not here. */
  function askFirst(name) {
    var form = formOf(name);
    if (!form) return false;
    var done = document.createElement("input");
    done.type = "hidden";
    done.name = "done";
    done.value = "yes";
    form.appendChild(done);
    form.submit();
    return true;
  }

  function hold(text) {
    words = text;
    var marks = read(MARKS);
    mine(marks).forEach(function (name) { tell(name, marks[name].fields.done, text); });
  }

  /* The line at the top of the page. */

  function line(text) {
    var paragraph = document.createElement("p");
    paragraph.append(text);
    return paragraph;
  }

  function time(at) {
    return new Date(at).toLocaleString([], { month: "short", day: "numeric", hour: "numeric", minute: "2-digit" });
  }

  function again() {
    var link = document.createElement("a");
    link.href = location.pathname + location.search;
    link.textContent = "Load it again";
    return link;
  }

  function show() {
    if (!bar || !who) return;
    var lines = [];
    var waits = mine(read(MARKS)).length;
    if (keptAt) {
      var kept = line("No answer from Halfbay: this page is as it was on this phone at " + time(keptAt) + ". ");
      kept.append(again());
      lines.push(kept);
    }
    if (waits && (words || keptAt || !navigator.onLine)) {
      lines.push(line(
        (waits === 1 ? "1 mark waits" : waits + " marks wait") + " on this phone. " +
        (words === SIGN_IN ? "Sign in again, then " : "When the signal is back, ") + (waits === 1 ? "it is sent." : "they are sent.")
      ));
    }
    var told = read(REFUSED);
    mine(told).forEach(function (name) {
      var text = line(told[name].about + ": " + told[name].text + " ");
      var link = document.createElement("a");
      link.href = told[name].page;
      link.textContent = "Open its page";
      var button = document.createElement("button");
      button.type = "button";
      button.className = "button-quiet";
      button.textContent = "I read it";
      button.addEventListener("click", function () {
        var rest = read(REFUSED);
        delete rest[name];
        write(REFUSED, rest);
        show();
      });
      text.append(link, " ", button);
      lines.push(text);
    });
    /* Lines that say the same as before are not said anew to those who hear them. */
    var before = Array.from(bar.children, function (each) { return each.textContent; }).join("\n");
    if (before === lines.map(function (each) { return each.textContent; }).join("\n")) return;
    bar.replaceChildren.apply(bar, lines);
  }

  /* Who signs out takes nothing along, and is told before what waits is lost. */
  var warned = false;
  window.addEventListener("submit", function (event) {
    if (!event.target.matches("form[data-sign-out]")) return;
    var waits = mine(read(MARKS)).length;
    if (waits && !warned) {
      warned = true;
      event.preventDefault();
      event.stopImmediatePropagation();
      send();
      var told = line(
        (waits === 1 ? "1 mark on this phone is" : waits + " marks on this phone are") +
        " not sent yet. Sign out once more to drop " + (waits === 1 ? "it." : "them.")
      );
      told.setAttribute("role", "alert");
      event.target.append(told);
      return;
    }
    forget();
  }, true);

  /* How marks stand that a page which was kept does not know of yet. */
  function bringUp() {
    var known = read(SENT);
    if (keptAt) {
      mine(known).forEach(function (name) {
        if (known[name].at > keptAt) tell(name, known[name].done, "");
      });
    }
    var marks = read(MARKS);
    mine(marks).forEach(function (name) { tell(name, marks[name].fields.done, HELD); });
    show();
    send();
  }

  function keepThisPage() {
    var worker = navigator.serviceWorker;
    if (!worker || !root.dataset.keep || keptAt) return;
    var early = !worker.controller;
    worker.register(root.dataset.keep).then(function () { return worker.ready; }).then(function (ready) {
      /* The first page of all was loaded before anybody could keep it. */
      if (!early || !ready.active) return;
      var files = performance.getEntriesByType("resource").map(function (each) { return each.name; });
      ready.active.postMessage({ page: location.pathname + location.search, files: files });
    }).catch(function () { /* a browser that keeps nothing: the page works as before */ });
  }

  window.waiting = {
    all: function () {
      var marks = read(MARKS);
      return mine(marks).map(function (name) { return marks[name]; });
    },
    add: add, send: send, nameOf: nameOf
  };

  if (root.hasAttribute("data-wipe")) forget();
  if (keptAt) {
    document.querySelectorAll(".messages, .just-saved").forEach(function (old) { old.remove(); });
  }
  document.addEventListener("DOMContentLoaded", bringUp); /* once the scripts of the page listen */
  window.addEventListener("online", send);
  window.addEventListener("offline", show);
  setInterval(send, NEXT_TRY);
  keepThisPage();
})();
