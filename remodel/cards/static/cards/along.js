/* The ticks of a room that was taken along: kept in the browser and in the page's own address, and
   given as a code that Halfbay enters. */
(function () {
  "use strict";

  var along = JSON.parse(document.getElementById("along").textContent);
  var boxes = Array.from(document.querySelectorAll("input[data-number]"));
  var place = "halfbay-along-" + along.f;
  var kept = true;

  function ticked() {
    return boxes.filter(function (box) { return box.checked; }).map(function (box) { return Number(box.dataset.number); });
  }

  /* What is left of the link to a card is no list of ticks. */
  function inAddress() {
    var list = /^#ticks=([\d,]*)$/.exec(location.hash);
    return list && list[1] ? list[1].split(",").map(Number) : [];
  }

  function inBrowser() {
    try { return JSON.parse(localStorage.getItem(place)) || []; } catch (error) { return []; }
  }

  function keep(numbers) {
    var inStore = false;
    var inLine = false;
    try {
      localStorage.setItem(place, JSON.stringify(numbers));
      inStore = localStorage.getItem(place) !== null;
    } catch (error) { /* a file may have no store here */ }
    try {
      history.replaceState(null, "", "#ticks=" + numbers.join(","));
      inLine = true;
    } catch (error) { /* nor an address of its own */ }
    kept = inStore || inLine;
  }

  /* See `read_code` in taken_along.py. */
  function codeOf(numbers) {
    var told = {
      f: along.f, r: along.r, p: along.p,
      t: numbers.map(function (number) { return [number].concat(along.t[number]); })
    };
    var bytes = new TextEncoder().encode(JSON.stringify(told));
    var text = "";
    bytes.forEach(function (byte) { text += String.fromCharCode(byte); });
    return "hb1." + btoa(text).replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "") + ".";
  }

  function show() {
    var numbers = ticked();
    var code = document.getElementById("code");
    if (!code) return;
    code.value = numbers.length ? codeOf(numbers) : "";
    document.getElementById("enter").href = along.home + (numbers.length ? "#" + code.value : "");
    document.getElementById("count").textContent = numbers.length
      ? (numbers.length === 1 ? "1 box" : numbers.length + " boxes") + " ticked in this file."
      : "No box ticked in this file yet.";
    document.getElementById("not-kept").hidden = kept || !numbers.length;
    document.getElementById("copied").textContent = "";
  }

  var before = inAddress().concat(inBrowser());
  boxes.forEach(function (box) {
    if (before.indexOf(Number(box.dataset.number)) >= 0) box.checked = true;
    box.addEventListener("change", function () {
      keep(ticked());
      show();
    });
  });
  show();

  /* A link to a piece opens the card that it is on. */
  document.addEventListener("click", function (event) {
    var link = event.target.closest("a[href^='#card-of-']");
    var piece = link && document.getElementById(link.getAttribute("href").slice(1));
    if (!piece) return;
    event.preventDefault();
    piece.closest("details").open = true;
    piece.scrollIntoView();
  });

  var copy = document.getElementById("copy");
  if (copy) copy.addEventListener("click", function () {
    var code = document.getElementById("code");
    code.select();
    var done = false;
    try { done = document.execCommand("copy"); } catch (error) { done = false; }
    document.getElementById("copied").textContent = done ? "Copied." : "Press and hold the code to copy it.";
  });
})();
