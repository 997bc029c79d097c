/* Marks that stay when the signal drops, and one piece at a time. Without this each mark is a plain form. */
(function () {
  "use strict";

  /* Marks wait here until the server has them; they outlive the page. */

  var PLACE = "halfbay-marks";

  function waiting() {
    try { return JSON.parse(localStorage.getItem(PLACE)) || {}; } catch (error) { return {}; }
  }

  function keep(marks) {
    try { localStorage.setItem(PLACE, JSON.stringify(marks)); return true; } catch (error) { return false; }
  }

  function fieldsOf(form) {
    var fields = {};
    ["kind", "plan", "item"].forEach(function (name) { fields[name] = form.querySelector("[name=" + name + "]").value; });
    return fields;
  }

  function nameOf(form) {
    var fields = fieldsOf(form);
    return [form.getAttribute("action"), fields.kind, fields.plan, fields.item].join(" ");
  }

  function newKey() {
    return Array.from(crypto.getRandomValues(new Uint8Array(16)), function (each) { return each.toString(16).padStart(2, "0"); }).join("");
  }

  function forms() { return Array.from(document.querySelectorAll("form[data-mark]")); }

  function show(name, done, words) {
    forms().forEach(function (form) {
      if (nameOf(form) !== name) return;
      form.dataset.done = done;
      form.querySelector(".mark-said").textContent = words;
    });
    count();
    askForRests();
  }

  /* Once the last piece of a sheet is marked, its page says where what is left is kept or binned. */
  function askForRests() {
    var line = document.querySelector("[data-rests]");
    if (!line) return;
    var waits = Object.keys(waiting()).length > 0;
    line.hidden = waits || !forms().every(function (form) { return form.dataset.done === "yes"; });
  }

  function count() {
    var bar = document.querySelector(".progress progress");
    var words = document.querySelector(".progress span");
    if (!bar || !words || !document.querySelector(".hang-steps")) return;
    var done = forms().filter(function (form) { return form.dataset.done === "yes"; }).length;
    bar.value = done;
    words.textContent = words.textContent.replace(/^\d+/, String(done));
  }

  var sending = false;
  var HELD = "Kept on this phone; sent when the signal is back.";

  function send() {
    var marks = waiting();
    var name = Object.keys(marks)[0];
    var token = document.querySelector("[name=csrfmiddlewaretoken]");
    if (!name || !token || sending) return;
    sending = true;
    var mark = marks[name];
    var abort = new AbortController();
    /* A question can be asked only where its form is; elsewhere only what stops the work is told. */
    var here = forms().some(function (form) { return nameOf(form) === name; });
    var late = setTimeout(function () { abort.abort(); }, 15000);
    fetch(mark.to, {
      method: "POST",
      headers: { "X-CSRFToken": token.value, "X-Marks": "yes", "X-Here": here ? "yes" : "no" },
      body: new URLSearchParams(mark.fields),
      redirect: "manual",
      signal: abort.signal
    }).then(function (answer) {
      if (answer.type === "opaqueredirect" || answer.status >= 500 || answer.status === 429) {
        hold(answer.type === "opaqueredirect" ? "Kept on this phone; sign in again, then it is sent." : HELD);
        return null;
      }
      return answer.text().then(function (text) {
        var now = waiting();
        if (now[name] && now[name].fields.key === mark.fields.key) { delete now[name]; keep(now); }
        if (answer.status === 409 && askFirst(name)) return null;
        if (answer.ok) show(name, now[name] ? now[name].fields.done : mark.fields.done, "");
        else show(name, mark.fields.done === "yes" ? "no" : "yes", answer.status === 422 || answer.status === 409 ? text : "Not kept: load this page again, then mark it again.");
        return true;
      });
    }, function () { hold(HELD); return null; }).then(function (more) {
      clearTimeout(late);
      sending = false;
      if (more) send();
    });
  }

  /* Something comes first: the form is sent plainly, and its page asks. False where it is not here. */
  function askFirst(name) {
    var form = forms().find(function (each) { return nameOf(each) === name; });
    if (!form) return false;
    var done = document.createElement("input");
    done.type = "hidden";
    done.name = "done";
    done.value = "yes";
    form.appendChild(done);
    form.submit();
    return true;
  }

  function hold(words) {
    var marks = waiting();
    Object.keys(marks).forEach(function (name) { show(name, marks[name].fields.done, words); });
  }

  /* before the page's own handling of forms */
  window.addEventListener("submit", function (event) {
    var form = event.target;
    if (!form.matches("form[data-mark]")) return;
    var fields = fieldsOf(form);
    fields.done = event.submitter ? event.submitter.value : form.dataset.done === "yes" ? "no" : "yes";
    fields.key = newKey();
    var marks = waiting();
    marks[nameOf(form)] = { to: form.getAttribute("action"), fields: fields };
    if (!keep(marks)) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    show(nameOf(form), fields.done, "");
    var step = form.closest("[data-step]");
    if (step && fields.done === "yes") go(step, 1);
    else (form.querySelector(fields.done === "yes" ? ".mark-done button" : ".mark-do") || form).focus();
    send();
  }, true);

  var held = waiting();
  Object.keys(held).forEach(function (name) { show(name, held[name].fields.done, HELD); });
  send();
  window.addEventListener("online", send);
  setInterval(send, 10000);

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
