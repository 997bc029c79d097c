/* What a page does beyond HTML and htmx. Everything here only adds: each page works without it. */
(function () {
  "use strict";

  var live = document.getElementById("live");
  var clearing;

  function say(text) {
    if (!live || !text) return;
    live.textContent = text;
    clearTimeout(clearing);
    clearing = setTimeout(function () { live.textContent = ""; }, 8000);
  }

  document.addEventListener("say", function (event) { say(event.detail.text || event.detail.value); });

  /* Errors: the summary takes focus, and the title says so. */

  function showErrors() {
    var summary = document.querySelector("main .error-summary, main .conflict");
    var bare = document.title.replace(/^Error: /, "");
    document.title = summary ? "Error: " + bare : bare;
    if (summary) summary.focus();
    return Boolean(summary);
  }

  if (document.querySelector("main .error-summary, main .conflict")) showErrors();

  document.addEventListener("click", function (event) {
    var link = event.target.closest(".error-summary a[href^='#']");
    var field = link && document.getElementById(link.hash.slice(1));
    if (!field) return;
    event.preventDefault();
    field.focus();
    (field.closest(".field, fieldset") || field).scrollIntoView({ block: "center" });
  });

  /* Focus after a swap stays or moves on purpose, never to the body. */

  var hadFocus = new WeakSet(); /* each that asked, for a page that asks by itself does so between */

  document.addEventListener("htmx:beforeRequest", function (event) {
    hadFocus[event.detail.elt.contains(document.activeElement) ? "add" : "delete"](event.detail.elt);
  });

  document.addEventListener("htmx:afterSettle", function (event) {
    var place = event.detail.elt;
    if (place.matches(".readback")) return;
    if (place.querySelector(".error-summary, .conflict") || place.matches(".error-summary, .conflict")) {
      showErrors();
      return;
    }
    if (/^Error: /.test(document.title)) showErrors();
    var wanted = place.querySelector("[data-focus]");
    var asked = event.detail.requestConfig && event.detail.requestConfig.elt;
    if (!wanted && hadFocus.has(asked) && (document.activeElement === document.body || !document.activeElement)) {
      wanted = place.isConnected ? place : document.getElementById("main");
    }
    hadFocus.delete(asked);
    if (!wanted) return;
    if (!wanted.matches("a, button, input, select, textarea, [tabindex]")) wanted.setAttribute("tabindex", "-1");
    wanted.focus();
  });

  /* Sending: one press sends once; what cannot be sent is held here and sent again, by the same button. */

  var pressed = new WeakMap();

  document.addEventListener("submit", function (event) {
    var form = event.target;
    pressed.set(form, event.submitter);
    if (form.hasAttribute("hx-post") || form.method !== "post") return;
    if (form.dataset.sending) { event.preventDefault(); return; }
    form.dataset.sending = "yes";
    form.querySelectorAll("button[type=submit]").forEach(function (button) { button.setAttribute("aria-disabled", "true"); });
  });

  window.addEventListener("pageshow", function () {
    document.querySelectorAll("form[data-sending]").forEach(function (form) {
      delete form.dataset.sending;
      form.querySelectorAll("button[aria-disabled]").forEach(function (button) { button.removeAttribute("aria-disabled"); });
    });
  });

  var held = new Set();

  function hold(form) {
    held.add(form);
    if (form.querySelector(".unsent")) return;
    var words = document.createElement("p");
    words.className = "unsent";
    words.textContent = form.dataset.unsent || "Not saved yet: the server cannot be reached. What you typed is held on this page and is sent again by itself. Keep the page open.";
    form.prepend(words);
    say("Not saved yet: the server cannot be reached");
  }

  function release(form) {
    held.delete(form);
    delete form.dataset.edited;
    var words = form.querySelector(".unsent");
    if (words) words.remove();
  }

  function sendHeld() {
    held.forEach(function (form) {
      if (!form.isConnected) held.delete(form);
      else if (!form.contains(document.activeElement) || !form.dataset.edited || document.activeElement.type === "checkbox") form.requestSubmit(pressed.get(form) || undefined);
    });
  }

  ["htmx:sendError", "htmx:timeout"].forEach(function (name) {
    document.addEventListener(name, function (event) {
      var form = event.detail.elt.closest("form[hx-post]");
      if (form) hold(form);
      else if (!event.detail.elt.matches("[data-length]")) say("No answer: the server cannot be reached. Try again");
    });
  });

  document.addEventListener("htmx:responseError", function (event) {
    var status = event.detail.xhr.status;
    if (event.detail.elt.matches("[data-length]")) return;
    if (status === 429) say("Too many at once. Wait a minute, then try again");
    else if (status === 413) say("Not saved: that is too large to send");
    else if (status === 403) say("Not saved: load the page again, then save. Copy what you typed first");
    else if (status === 404) say("That is no longer there. Load the page again");
    else say("Not saved: something went wrong on the server. What you typed is still here");
  });

  document.addEventListener("htmx:afterRequest", function (event) {
    if (event.detail.xhr && event.detail.xhr.status) {
      var form = event.detail.elt.closest("form[hx-post]");
      if (form === event.detail.elt || (form && event.detail.successful)) release(form);
    }
  });

  document.addEventListener("input", function (event) {
    var form = event.target.form;
    if (form && held.has(form)) form.dataset.edited = "yes";
  });

  window.addEventListener("online", sendHeld);
  setInterval(sendHeld, 15000);
  window.addEventListener("beforeunload", function (event) { if (held.size) event.preventDefault(); });

  /* Tape keys: feet, inches and fractions above a phone's keyboard. */

  var KEYS = {
    "in": [["ft", "' "], ["in", "\""], ["/16", "/16"], ["1/2", "1/2"], ["1/4", "1/4"]],
    "mm": [["mm", " mm"], ["cm", " cm"], ["m", " m"], [".", "."]]
  };
  var bar = null;
  var box = null;

  function insert(text) {
    var from = box.selectionStart, to = box.selectionEnd;
    var before = box.value.slice(0, from);
    if (/^[0-9]\//.test(text) && /[0-9]$/.test(before)) text = " " + text;
    if (/^ /.test(text) && (/ $/.test(before) || before === "")) text = text.slice(1);
    box.setRangeText(text, from, to, "end");
    box.dispatchEvent(new Event("input", { bubbles: true }));
  }

  function keysFor(input) {
    if (bar) bar.remove();
    bar = document.createElement("div");
    bar.className = "tape-keys";
    bar.setAttribute("role", "group");
    bar.setAttribute("aria-label", "Tape keys");
    (KEYS[input.dataset.length] || KEYS["in"]).forEach(function (key) {
      var button = document.createElement("button");
      button.type = "button";
      button.tabIndex = -1;
      button.textContent = key[0];
      /* keeps the caret, and with it the keyboard, where it is */
      button.addEventListener("pointerdown", function (event) { event.preventDefault(); });
      button.addEventListener("click", function () { insert(key[1]); box.focus(); });
      bar.append(button);
    });
    document.getElementById("main").append(bar);
    place();
  }

  function place() {
    var view = window.visualViewport;
    if (bar && view) bar.style.bottom = Math.max(0, window.innerHeight - view.height - view.offsetTop) + "px";
  }

  if (window.matchMedia("(any-pointer: coarse)").matches) {
    document.addEventListener("focusin", function (event) {
      if (event.target.matches("[data-length]")) { box = event.target; keysFor(box); }
      else if (bar) { bar.remove(); bar = null; }
    });
    if (window.visualViewport) {
      window.visualViewport.addEventListener("resize", place);
      window.visualViewport.addEventListener("scroll", place);
    }
  }
})();
