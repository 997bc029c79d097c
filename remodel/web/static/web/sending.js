/* Sending a form: one press sends once, and what was typed and cannot be sent is held on the page
   and sent again. Without this each form is a plain post. */
(function () {
  "use strict";

  var NOTHING_MOVES = 20000; /* ms without a byte: the connection is gone */
  /* ms for an answer once a photo is sent: the server makes it smaller. A form whose file takes
     longer says how long: data-patience. */
  var FILE_IS_READ = 60000;
  var NEXT_TRY = 15000;

  var NOT_YET = "Not saved yet: the server cannot be reached. What you typed is kept on this page " +
    "and will be sent when the connection is back. Keep the page open.";
  var NO_ANSWER = "No answer: the server cannot be reached. Try again.";

  var standing = window.standing;
  var held = new Set(); /* forms with words the server does not have yet */
  var lost = new WeakSet(); /* requests given up here because nothing moved any more */
  var byItself = false; /* whether the form is sent by this page, not by a press */

  /* What was said of an earlier save is over once the next one is on its way. */
  function clearOldNews() {
    var news = document.querySelectorAll(".just-saved, .messages li:not(:has(form))");
    news.forEach(function (line) { line.remove(); });
    standing.say("");
  }

  /* "Saved" of one entry must not hide that another is still held. */
  document.addEventListener("say", function (event) {
    if (!held.size || event.detail.own) return;
    var text = event.detail.text || event.detail.value;
    event.detail.text = text + ". Another entry on this page is not saved yet";
  }, true);

  /* Every form that posts is sent by htmx, so that the browser's own error page never takes what was
     typed. One without hx-post stays a plain post for the server: its page replaces the main part of
     this one, and its redirect comes as an address to go to (LeaveMiddleware in remodel.web). */

  document.addEventListener("htmx:beforeProcessNode", function (event) {
    var form = event.target;
    if (!standing.posts(form) || form.hasAttribute("hx-post")) return;
    form.dataset.whole = "yes";
    form.setAttribute("hx-post", form.getAttribute("action"));
    form.setAttribute("hx-target", "#main");
    form.setAttribute("hx-select", "#main");
    form.setAttribute("hx-swap", "outerHTML");
    if (form.enctype === "multipart/form-data") form.setAttribute("hx-encoding", form.enctype);
  });

  window.addEventListener("submit", function (event) {
    var form = event.target;
    if (form.dataset.sending) {
      event.preventDefault();
      event.stopImmediatePropagation();
    } else standing.pressed.set(form, event.submitter);
  }, true);

  document.addEventListener("htmx:configRequest", function (event) {
    var form = event.detail.elt;
    if (!standing.posts(form)) return;
    var button = event.detail.triggeringEvent && event.detail.triggeringEvent.submitter;
    if (button && button.name) event.detail.parameters[button.name] = button.value;
    event.detail.timeout = 0; /* a slow upload is no lost one: see watch */
    if (!form.dataset.whole) return;
    delete event.detail.headers["HX-Request"];
    event.detail.headers["X-Whole-Page"] = "yes";
  });

  document.addEventListener("htmx:beforeRequest", function (event) {
    var form = event.detail.elt;
    if (!standing.isForm(form)) return;
    form.dataset.sending = "yes";
    standing.press(form, true);
    if (!byItself) {
      clearOldNews();
      standing.showSending(form);
    }
    if (standing.posts(form)) watch(form, event.detail.xhr);
  });

  /* As long as bytes move, a request is given time. */
  function watch(form, xhr) {
    var file = standing.hasFile(form);
    var timer;

    function giveUpAfter(time) {
      clearTimeout(timer);
      timer = setTimeout(function () { lost.add(xhr); xhr.abort(); }, time);
    }

    giveUpAfter(NOTHING_MOVES);
    xhr.upload.addEventListener("progress", function (event) {
      giveUpAfter(NOTHING_MOVES);
      if (file && event.total) standing.showFar(form, Math.floor(100 * event.loaded / event.total));
    });
    xhr.upload.addEventListener("load", function () {
      giveUpAfter(Number(form.dataset.patience) || (file ? FILE_IS_READ : NOTHING_MOVES));
      if (file) standing.showSending(form);
    });
    xhr.addEventListener("progress", function () { giveUpAfter(NOTHING_MOVES); });
    xhr.addEventListener("loadend", function () { clearTimeout(timer); });
  }

  function free(form) {
    delete form.dataset.sending;
    standing.press(form, false);
    standing.clear(form, ".sending");
  }

  document.addEventListener("htmx:afterRequest", function (event) {
    var form = event.detail.elt;
    if (!standing.isForm(form)) return;
    /* leaving for another page, the button stays pressed until that page is here */
    if (event.detail.xhr.getResponseHeader("HX-Redirect") && !held.size) return;
    free(form);
  });

  /* The browser keeps a page as it was left, with the button pressed, and shows it so on Back. */
  window.addEventListener("pageshow", function () {
    document.querySelectorAll("form[data-sending]").forEach(free);
  });

  /* Held until the form's own answer comes; leaving the page meanwhile asks. Only then: a page with
     a `beforeunload` is kept by no browser for Back. */

  function ask(event) { event.preventDefault(); }

  function hold(form) {
    held.add(form);
    window.addEventListener("beforeunload", ask);
    if (!form.querySelector(".unsent")) standing.tell(form, form.dataset.unsent || NOT_YET);
  }

  function release(form) {
    held.delete(form);
    delete form.dataset.edited;
    if (!held.size) window.removeEventListener("beforeunload", ask);
  }

  function send(form) {
    var button = standing.pressed.get(form);
    form.requestSubmit(button && button.form === form ? button : undefined);
  }

  function sendHeld() {
    held.forEach(function (form) {
      var field = document.activeElement;
      var typing = form.dataset.edited && form.contains(field) && field.type !== "checkbox";
      if (!form.isConnected) release(form);
      else if (!typing && !form.dataset.sending) {
        byItself = true;
        send(form);
        byItself = false;
      }
    });
  }

  window.addEventListener("online", sendHeld);
  setInterval(sendHeld, NEXT_TRY);

  document.addEventListener("input", function (event) {
    var form = event.target.form;
    if (form && held.has(form)) form.dataset.edited = "yes";
  });

  ["htmx:sendError", "htmx:timeout", "htmx:sendAbort"].forEach(function (name) {
    document.addEventListener(name, function (event) {
      var asker = event.detail.elt;
      /* one that was not given up here made way for a newer one */
      if (name === "htmx:sendAbort" && !lost.has(event.detail.xhr)) return;
      if (standing.posts(asker) && standing.isTyped(asker)) hold(asker);
      else if (standing.isForm(asker)) standing.tell(asker, NO_ANSWER);
      else if (asker.matches("a, button")) standing.say(NO_ANSWER, { trouble: true });
    });
  });

  /* What is held in another form of the page is not swapped away with it. */
  function holdsOther(place, form) {
    return Array.from(held).some(function (other) {
      return other !== form && place.contains(other);
    });
  }

  window.sending = { send: send, sendHeld: sendHeld, release: release, holdsOther: holdsOther };
})();
