/* Sending a form. One press sends once, and the form says where it stands: on its way, not saved yet, or refused.
   What was typed and cannot be sent is held on the page and sent again. Without this each form is a plain post. */
(function () {
  "use strict";

  var NOTHING_MOVES = 20000; /* ms without a byte: the connection is gone */
  var FILE_IS_READ = 60000; /* ms for an answer once a photo has been sent: the server makes it smaller first */
  var NEXT_TRY = 15000;

  var NOT_YET = "Not saved yet: the server cannot be reached. What you typed is kept on this page and will be sent " +
    "when the connection is back. Keep the page open.";
  var NO_ANSWER = "No answer: the server cannot be reached. Try again.";
  var REFUSED = {
    400: "the server could not read this. Check what you entered, then press the button again.",
    403: "you may not change this, or the page is too old. Copy what you typed, load the page again, and try once more.",
    404: "this is no longer there. Copy what you still need before you leave the page.",
    413: "that is too large to send. Choose a smaller file, then press the button again.",
    429: "too many tries at once. Wait a minute, then press the button again.",
    503: "the server is busy or is starting again. Wait a minute, then press the button again."
  };
  var WRONG = "something went wrong on the server. What you typed is still here. Press the button again in a minute.";

  var held = new Set(); /* forms with words the server does not have yet */
  var pressed = new WeakMap(); /* the button a form was sent with, for its next try */
  var lost = new WeakSet(); /* requests given up here because nothing moved any more */
  var byItself = false; /* whether the form is sent by this page, not by a press */

  function isForm(element) { return element.matches("form"); }

  function posts(element) { return isForm(element) && element.method === "post"; }

  /* Words and choices are kept; what is only pressed (Undo, Remove) is pressed again. */
  function isTyped(form) {
    return Array.from(form.elements).some(function (field) { return field.matches("input:not([type=hidden]), select, textarea"); });
  }

  function hasFile(form) {
    return Array.from(form.elements).some(function (field) { return field.files && field.files.length; });
  }

  function buttonsOf(form) {
    return Array.from(form.elements).filter(function (field) { return field.type === "submit"; });
  }

  /* Where a form stands: one line at each group of Save buttons and where the press was, the latest truth alone. */

  function placesOf(form) {
    var places = Array.from(form.querySelectorAll(".buttons:has(button[type=submit])"));
    var button = pressed.get(form) || buttonsOf(form).pop();
    if (button && !button.matches(".unseen") && !places.includes(button.closest(".buttons"))) places.push(button);
    return places;
  }

  function clear(form, kind) {
    form.querySelectorAll(kind || ".sending, .unsent").forEach(function (line) { line.remove(); });
  }

  function show(form, kind, fill) {
    clear(form);
    var places = placesOf(form);
    var lines = (places.length ? places : [null]).map(function (place) {
      var line = document.createElement("div");
      line.className = kind;
      fill(line);
      if (place) place.after(line);
      else form.append(line);
      return line;
    });
    return lines;
  }

  function inSight(line) {
    var box = line.getBoundingClientRect();
    return box.top >= 0 && box.bottom <= window.innerHeight;
  }

  function say(text, heard) {
    document.dispatchEvent(new CustomEvent("say", { detail: { text: text, heard: heard, own: true } }));
  }

  function tell(form, words, link) {
    var lines = show(form, "unsent", function (line) {
      var text = document.createElement("p");
      text.append(words);
      if (link) text.append(" ", link.cloneNode(true));
      line.append(text);
    });
    var press = document.activeElement;
    lines.forEach(function (line) {
      if (press && line.previousElementSibling && line.previousElementSibling.contains(press)) line.scrollIntoView({ block: "nearest" });
    });
    say(words, lines.some(inSight));
  }

  function showSending(form) {
    var sign = form.querySelector(".when-working");
    var again = form.querySelector(".unsent");
    if (!sign && !again) return;
    show(form, "sending", function (line) {
      if (sign) line.append.apply(line, Array.from(sign.cloneNode(true).childNodes));
      /* in the place of the words that stood there, so that nothing moves under a second press */
      else line.append("Sending again");
    });
  }

  function showFar(form, far) {
    var lines = form.querySelectorAll(".sending .progress");
    if (!lines.length) {
      lines = show(form, "sending", function (line) {
        var words = document.createElement("p");
        words.className = "progress";
        var bar = document.createElement("progress");
        bar.max = 100;
        bar.setAttribute("aria-hidden", "true"); /* the words beside it say the same */
        words.append(bar, " ", document.createElement("span"));
        line.append(words);
      });
    }
    lines.forEach(function (line) {
      line.querySelector("progress").value = far;
      line.querySelector("span").textContent = "Sending the file: " + far + "%";
    });
  }

  /* What was said of an earlier save is over once the next one is on its way. */
  function clearOldNews() {
    document.querySelectorAll(".just-saved, .messages li:not(:has(form))").forEach(function (news) { news.remove(); });
    say("");
  }

  /* "Saved" of one entry must not hide that another is still held. */
  document.addEventListener("say", function (event) {
    if (!held.size || event.detail.own) return;
    event.detail.text = (event.detail.text || event.detail.value) + ". Another entry on this page is not saved yet";
  }, true);

  /* Every form that posts is sent by htmx, so that the browser's own error page never takes what was typed. One
     without hx-post stays a plain post for the server: its page replaces the main part of this one, and its redirect
     comes as an address to go to (remodel.web.middleware.LeaveMiddleware). */

  document.addEventListener("htmx:beforeProcessNode", function (event) {
    var form = event.target;
    if (!posts(form) || form.hasAttribute("hx-post")) return;
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
    } else pressed.set(form, event.submitter);
  }, true);

  document.addEventListener("htmx:configRequest", function (event) {
    var form = event.detail.elt;
    if (!posts(form)) return;
    var button = event.detail.triggeringEvent && event.detail.triggeringEvent.submitter;
    if (button && button.name) event.detail.parameters[button.name] = button.value;
    event.detail.timeout = 0; /* a slow upload is no lost one: see watch */
    if (!form.dataset.whole) return;
    delete event.detail.headers["HX-Request"];
    event.detail.headers["X-Whole-Page"] = "yes";
  });

  document.addEventListener("htmx:beforeRequest", function (event) {
    var form = event.detail.elt;
    if (!isForm(form)) return;
    form.dataset.sending = "yes";
    buttonsOf(form).forEach(function (button) { button.setAttribute("aria-disabled", "true"); });
    if (!byItself) {
      clearOldNews();
      showSending(form);
    }
    if (posts(form)) watch(form, event.detail.xhr);
  });

  /* As long as bytes move, a request is given time. */
  function watch(form, xhr) {
    var file = hasFile(form);
    var timer;

    function giveUpAfter(time) {
      clearTimeout(timer);
      timer = setTimeout(function () { lost.add(xhr); xhr.abort(); }, time);
    }

    giveUpAfter(NOTHING_MOVES);
    xhr.upload.addEventListener("progress", function (event) {
      giveUpAfter(NOTHING_MOVES);
      if (file && event.total) showFar(form, Math.floor(100 * event.loaded / event.total));
    });
    xhr.upload.addEventListener("load", function () {
      giveUpAfter(file ? FILE_IS_READ : NOTHING_MOVES);
      if (file) showSending(form);
    });
    xhr.addEventListener("progress", function () { giveUpAfter(NOTHING_MOVES); });
    xhr.addEventListener("loadend", function () { clearTimeout(timer); });
  }

  function free(form) {
    delete form.dataset.sending;
    buttonsOf(form).forEach(function (button) { button.removeAttribute("aria-disabled"); });
    clear(form, ".sending");
  }

  document.addEventListener("htmx:afterRequest", function (event) {
    var form = event.detail.elt;
    if (!isForm(form)) return;
    /* leaving for another page, the button stays pressed until that page is here */
    if (event.detail.xhr.getResponseHeader("HX-Redirect") && !held.size) return;
    free(form);
  });

  /* The browser keeps a page as it was left, with the button pressed, and shows it so on Back. */
  window.addEventListener("pageshow", function () {
    document.querySelectorAll("form[data-sending]").forEach(free);
  });

  /* Held until the form's own answer comes; leaving the page meanwhile asks. Only then: a page with a `beforeunload`
     is kept by no browser for Back. */

  function ask(event) { event.preventDefault(); }

  function hold(form) {
    held.add(form);
    window.addEventListener("beforeunload", ask);
    var known = form.querySelector(".unsent");
    if (!known) tell(form, form.dataset.unsent || NOT_YET);
  }

  function release(form) {
    held.delete(form);
    delete form.dataset.edited;
    if (!held.size) window.removeEventListener("beforeunload", ask);
  }

  function send(form) {
    var button = pressed.get(form);
    form.requestSubmit(button && button.form === form ? button : undefined);
  }

  function sendHeld() {
    held.forEach(function (form) {
      var typing = form.dataset.edited && form.contains(document.activeElement) && document.activeElement.type !== "checkbox";
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
      if (name === "htmx:sendAbort" && !lost.has(event.detail.xhr)) return; /* a newer request took its place */
      if (posts(asker) && isTyped(asker)) hold(asker);
      else if (isForm(asker)) tell(asker, NO_ANSWER);
      else if (asker.matches("a, button")) say(NO_ANSWER);
    });
  });

  /* Answers that are no page to show: what was typed stays, the words say why, and the button can be pressed again. */

  function refuse(form, words, link) { tell(form, (isTyped(form) ? "Not saved: " : "Not done: ") + words, link); }

  document.addEventListener("htmx:beforeOnLoad", function (event) {
    var form = event.detail.elt;
    var xhr = event.detail.xhr;
    var came = xhr.responseURL && new URL(xhr.responseURL);
    var asked = new URL(event.detail.pathInfo.finalRequestPath, location.href);
    var turnedAway = came && came.pathname !== asked.pathname;
    if (turnedAway) event.preventDefault();
    if (!posts(form)) return;
    release(form);
    if (xhr.status !== 403) delete form.dataset.renewed;
    if (turnedAway) refuse(form, "you are not signed in any more. Come in again in a new tab, then press the button here again.", wayIn(came));
    else leaveForSamePage(event, xhr.getResponseHeader("HX-Redirect"));
  });

  function wayIn(address) {
    var link = document.createElement("a");
    link.href = address.pathname;
    link.target = "_blank";
    link.textContent = "Open the sign-in page";
    return link;
  }

  /* To go to a place in the page one is on would load nothing. */
  function leaveForSamePage(event, to) {
    var address = to && new URL(to, location.href);
    if (!address || !address.hash || address.pathname + address.search !== location.pathname + location.search) return;
    event.preventDefault();
    location.hash = address.hash;
    location.reload();
  }

  document.addEventListener("htmx:beforeSwap", function (event) {
    var form = event.detail.requestConfig.elt;
    if (!event.detail.shouldSwap) return;
    var status = event.detail.xhr.status;
    if (holdsOther(event.detail.target, form)) {
      event.detail.shouldSwap = false;
      if (posts(form) && status < 400) say("Sent. It is shown here once the other entry on this page is sent");
      else if (posts(form)) refuse(form, "something needs fixing. It is shown once the other entry on this page is sent; then press the button again.");
      sendHeld();
      return;
    }
    if (!posts(form)) return;
    if (status >= 400 && (isTyped(form) || status === 429) && !hasForm(event.detail.serverResponse)) {
      event.detail.shouldSwap = false;
      event.detail.isError = true;
    }
  });

  /* What is held in another form of the page is not swapped away with it. */
  function holdsOther(place, form) {
    return Array.from(held).some(function (other) { return other !== form && place.contains(other); });
  }

  /* Whether a page or a part of one gives back what was typed. */
  function hasForm(html) {
    var page = new DOMParser().parseFromString(html, "text/html");
    return Boolean((page.querySelector("main") || page.body).querySelector("form[method=post]"));
  }

  document.addEventListener("htmx:responseError", function (event) {
    var asker = event.detail.elt;
    var status = event.detail.xhr.status;
    if (posts(asker) && status === 403 && !asker.dataset.renewed) renew(asker);
    else if (isForm(asker)) refuse(asker, REFUSED[status] || WRONG);
    else if (asker.matches("a, button")) say("Not done: " + (REFUSED[status] || WRONG));
  });

  /* Signing in again, in another tab, makes the page's token stale: it is fetched anew, once, and the form sent again. */
  function renew(form) {
    form.dataset.renewed = "yes";
    fetch(location.href).then(function (answer) { return answer.text(); }).then(function (html) {
      var headers = new DOMParser().parseFromString(html, "text/html").body.getAttribute("hx-headers");
      var token = JSON.parse(headers)["X-CSRFToken"];
      document.body.setAttribute("hx-headers", headers);
      document.querySelectorAll("[name=csrfmiddlewaretoken]").forEach(function (field) { field.value = token; });
      send(form);
    }).catch(function () { refuse(form, REFUSED[403]); });
  }
})();
