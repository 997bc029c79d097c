/* What a page says, and where the focus goes. It only adds: each page works without it. */
(function () {
  "use strict";

  var live = document.getElementById("live");
  var clearing;

  /* One line is said at a time, the latest. Words that are `heard` stand on the page already and are
     for those who hear it; `trouble` stays until the next thing is done. */
  document.addEventListener("say", function (event) {
    if (!live) return;
    var said = event.detail;
    live.textContent = said.text || said.value || "";
    if (said.link) live.append(" ", said.link);
    live.classList.toggle("heard", Boolean(said.heard));
    live.classList.toggle("trouble", Boolean(said.trouble));
    clearTimeout(clearing);
    if (!said.trouble) clearing = setTimeout(function () { live.textContent = ""; }, 8000);
  });

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
})();
