/* Marks that stay when the signal drops, and one piece at a time. Without this each mark is a plain form. */
(function () {
  "use strict";

  var waiting = window.waiting;

  function forms() { return Array.from(document.querySelectorAll("form[data-mark]")); }

  document.addEventListener("mark", function (event) {
    forms().forEach(function (form) {
      if (waiting.nameOf(form) !== event.detail.name) return;
      form.dataset.done = event.detail.done;
      form.querySelector(".mark-said").textContent = event.detail.words;
    });
    count();
    askForRests();
  });

  /* Once the last piece of a sheet is marked, its page says where what is left is kept or binned. */
  function askForRests() {
    var line = document.querySelector("[data-rests]");
    if (!line) return;
    line.hidden = waiting.all().length > 0 || !forms().every(function (form) { return form.dataset.done === "yes"; });
  }

  function count() {
    var bar = document.querySelector(".progress progress");
    var words = document.querySelector(".progress span");
    if (!bar || !words || !document.querySelector(".hang-steps")) return;
    var done = forms().filter(function (form) { return form.dataset.done === "yes"; }).length;
    bar.value = done;
    words.textContent = words.textContent.replace(/^\d+/, String(done));
  }

  /* before the page's own handling of forms */
  window.addEventListener("submit", function (event) {
    var form = event.target;
    if (!form.matches("form[data-mark]")) return;
    var done = event.submitter ? event.submitter.value : form.dataset.done === "yes" ? "no" : "yes";
    if (!waiting.add(form, done)) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    document.dispatchEvent(new CustomEvent("mark", { detail: { name: waiting.nameOf(form), done: done, words: "" } }));
    var step = form.closest("[data-step]");
    if (step && done === "yes") go(step, 1);
    else (form.querySelector(done === "yes" ? ".mark-done button" : ".mark-do") || form).focus();
    waiting.send();
  }, true);

  /* One piece at a time. */

  var walk = document.querySelector("[data-walk]");
  var steps = walk ? Array.from(walk.querySelectorAll("[data-step]")) : [];

  function stand(step, quietly) {
    steps.forEach(function (each) { each.hidden = each !== step; });
    if (quietly) return;
    history.replaceState(null, "", "#" + step.id);
    window.scrollTo(0, 0);
    step.focus({ preventScroll: true });
  }

  function go(step, by) {
    var to = steps[steps.indexOf(step) + by];
    if (to) stand(to);
    else document.querySelector(".walk-end").scrollIntoView();
  }

  if (steps.length) {
    walk.classList.add("walking");
    var asked = steps.find(function (each) { return "#" + each.id === location.hash; });
    var first = steps.find(function (each) { return each.querySelector("form[data-mark]").dataset.done === "no"; });
    stand(asked || first || steps[0], true);
    walk.addEventListener("click", function (event) {
      var link = event.target.closest("[data-next], [data-back]");
      if (!link) return;
      event.preventDefault();
      go(link.closest("[data-step]"), link.matches("[data-next]") ? 1 : -1);
    });
    window.addEventListener("hashchange", function () {
      var to = steps.find(function (each) { return "#" + each.id === location.hash; });
      if (to) stand(to);
    });
  }
})();
