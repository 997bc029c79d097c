/* Answers that are no page to show: what was typed stays, the words say why, and the button can be
   pressed again. */
(function () {
  "use strict";

  var REFUSED = {
    400: "the server could not read this. Check what you entered, then press the button again.",
    403: "you may not change this, or the page is too old. Copy what you typed, load the page " +
      "again, and try once more.",
    404: "this is no longer there. Copy what you still need before you leave the page.",
    413: "that is too large to send. Choose a smaller file, then press the button again.",
    429: "too many tries at once. Wait a minute, then press the button again.",
    503: "the server is busy or is starting again. Wait a minute, then press the button again."
  };
  var WRONG = "something went wrong on the server. Wait a minute, then press the button again.";
  var SIGNED_OUT = "you are not signed in any more. Come in again in a new tab, then press the " +
    "button here again.";
  var SENT = "Sent. It is shown here once the other entry on this page is sent";
  var TO_FIX = "something needs fixing. It is shown once the other entry on this page is sent; " +
    "then press the button again.";

  var standing = window.standing;
  var sending = window.sending;

  function refuse(form, words, link) {
    words = standing.isTyped(form)
      ? "Not saved: " + words + " What you typed is still here."
      : "Not done: " + words;
    standing.tell(form, words, link);
  }

  document.addEventListener("htmx:beforeOnLoad", function (event) {
    var form = event.detail.elt;
    var xhr = event.detail.xhr;
    var came = xhr.responseURL && new URL(xhr.responseURL);
    var asked = new URL(event.detail.pathInfo.finalRequestPath, location.href);
    var turnedAway = came && came.pathname !== asked.pathname;
    if (turnedAway) event.preventDefault();
    if (!standing.posts(form)) return;
    sending.release(form);
    if (xhr.status !== 403) delete form.dataset.renewed;
    if (turnedAway) refuse(form, SIGNED_OUT, wayIn(came));
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
    var here = location.href.split("#")[0];
    if (!address || !address.hash || address.href.split("#")[0] !== here) return;
    event.preventDefault();
    location.hash = address.hash;
    location.reload();
  }

  document.addEventListener("htmx:beforeSwap", function (event) {
    var form = event.detail.requestConfig.elt;
    if (!event.detail.shouldSwap) return;
    var status = event.detail.xhr.status;
    if (sending.holdsOther(event.detail.target, form)) {
      event.detail.shouldSwap = false;
      if (standing.posts(form) && status < 400) standing.say(SENT);
      else if (standing.posts(form)) refuse(form, TO_FIX);
      sending.sendHeld();
      return;
    }
    if (!standing.posts(form)) return;
    var kept = standing.isTyped(form) || status === 429;
    if (status >= 400 && kept && !hasForm(event.detail.serverResponse)) {
      event.detail.shouldSwap = false;
      event.detail.isError = true;
    }
  });

  /* Whether a page or a part of one gives back what was typed. */
  function hasForm(html) {
    var page = new DOMParser().parseFromString(html, "text/html");
    return Boolean((page.querySelector("main") || page.body).querySelector("form[method=post]"));
  }

  document.addEventListener("htmx:responseError", function (event) {
    var asker = event.detail.elt;
    var status = event.detail.xhr.status;
    if (standing.posts(asker) && status === 403 && !asker.dataset.renewed) renew(asker);
    else if (standing.isForm(asker)) refuse(asker, REFUSED[status] || WRONG);
    else if (asker.matches("a, button")) {
      standing.say("Not done: " + (REFUSED[status] || WRONG), { trouble: true });
    }
  });

  /* Signing in again, in another tab, makes the page's token stale: it is fetched anew, once, and
     the form sent again. */
  function renew(form) {
    form.dataset.renewed = "yes";
    fetch(location.href).then(function (answer) { return answer.text(); }).then(function (html) {
      var page = new DOMParser().parseFromString(html, "text/html");
      var headers = page.body.getAttribute("hx-headers");
      var token = JSON.parse(headers)["X-CSRFToken"];
      document.body.setAttribute("hx-headers", headers);
      document.querySelectorAll("[name=csrfmiddlewaretoken]").forEach(function (field) {
        field.value = token;
      });
      sending.send(form);
    }).catch(function () { refuse(form, REFUSED[403]); });
  }
})();
