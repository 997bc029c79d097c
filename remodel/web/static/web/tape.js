/* Tape keys: feet, inches and fractions above a phone's keyboard. Without them lengths are typed as they are. */
(function () {
  "use strict";

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
