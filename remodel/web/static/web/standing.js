/* Where a form stands: on its way, not saved yet, or refused. The scripts that send forms say it
   through this. */
(function () {
  "use strict";

  var pressed = new WeakMap(); /* the button a form was sent with */

  function isForm(element) { return element.matches("form"); }

  function posts(element) { return isForm(element) && element.getAttribute("method") === "post"; }

  /* Words and choices are kept; what is only pressed (Undo, Remove) is pressed again. */
  function isTyped(form) {
    return Array.from(form.elements).some(function (field) {
      return field.matches("input:not([type=hidden]), select, textarea");
    });
  }

  function hasFile(form) {
    return Array.from(form.elements).some(function (field) {
      return field.files && field.files.length;
    });
  }

  /* Pressed buttons keep the focus, which disabled ones would lose. */
  function press(form, down) {
    buttonsOf(form).forEach(function (button) {
      if (down) button.setAttribute("aria-disabled", "true");
      else button.removeAttribute("aria-disabled");
    });
  }

  function buttonsOf(form) {
    return Array.from(form.elements).filter(function (field) { return field.type === "submit"; });
  }

  /* One line at each group of Save buttons and where the press was, the latest truth alone. */

  function placesOf(form) {
    var places = Array.from(form.querySelectorAll(".buttons:has(button[type=submit])"));
    var button = pressed.get(form) || buttonsOf(form).pop();
    if (button && !button.matches(".unseen") && !places.includes(button.closest(".buttons"))) {
      places.push(button);
    }
    return places;
  }

  function clear(form, kind) {
    form.querySelectorAll(kind || ".sending, .unsent").forEach(function (line) { line.remove(); });
  }

  function show(form, kind, fill) {
    clear(form);
    var places = placesOf(form);
    return (places.length ? places : [null]).map(function (place) {
      var line = document.createElement("div");
      line.className = kind;
      fill(line);
      if (place) place.after(line);
      else form.append(line);
      return line;
    });
  }

  function inSight(line) {
    var box = line.getBoundingClientRect();
    return box.top >= 0 && box.bottom <= window.innerHeight;
  }

  function say(text, more) {
    var detail = Object.assign({ text: text, own: true }, more);
    document.dispatchEvent(new CustomEvent("say", { detail: detail }));
  }

  /* Trouble with what was typed stands in the form. A form that is only pressed is a button in a
     row, which must not move under the next press: its trouble is said at the edge of the window. */
  function tell(form, words, link) {
    if (!isTyped(form)) {
      say(words, { trouble: true, link: link });
      return;
    }
    var lines = show(form, "unsent", function (line) {
      var text = document.createElement("p");
      text.append(words);
      if (link) text.append(" ", link.cloneNode(true));
      line.append(text);
    });
    var focused = document.activeElement;
    lines.forEach(function (line) {
      var place = line.previousElementSibling;
      if (place && place.contains(focused)) line.scrollIntoView({ block: "nearest" });
    });
    say(words, { heard: lines.some(inSight) });
  }

  function showSending(form) {
    var sign = form.querySelector(".when-working");
    if (!sign) {
      clear(form);
      return;
    }
    show(form, "sending", function (line) {
      line.append.apply(line, Array.from(sign.cloneNode(true).childNodes));
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

  window.standing = {
    pressed: pressed, isForm: isForm, posts: posts, isTyped: isTyped, hasFile: hasFile, press: press,
    clear: clear, say: say, tell: tell, showSending: showSending, showFar: showFar
  };
})();
