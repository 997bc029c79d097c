/* A press on a usual size fills in the fields that have it. A press on the picture of a wall fills in where the thing is: its middle goes there, to the next
   half inch or centimeter. The fields say it, and can be typed instead. */
(function () {
  "use strict";

  var INCH = 25400000;

  function tape(nm, metric) {
    if (metric) { return Math.round(nm / 1e7) * 10 + " mm"; }
    var halves = Math.round(nm / INCH * 2);
    var feet = Math.floor(halves / 24);
    var inches = Math.floor((halves - feet * 24) / 2);
    return (feet ? feet + "' " : "") + inches + (halves % 2 ? " 1/2" : "") + '"';
  }

  function put(form, name, value) {
    var field = form.elements[name];
    if (!field) { return; }
    field.value = value;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }

  function pick(form, name, value) {
    var field = form.elements[name];
    if (field && field.querySelector && field.querySelector('option[value="' + value + '"]')) {
      field.value = value;
    } else if (field && field.length && !field.options) {
      Array.prototype.forEach.call(field, function (one) { one.checked = one.value === value; });
    }
  }

  document.addEventListener("click", function (event) {
    var size = event.target.closest && event.target.closest(".usual-sizes button");
    if (!size) { return; }
    Object.keys(size.dataset).forEach(function (key) {
      if (key.indexOf("fill") !== 0) { return; }
      var name = key.slice(4).toLowerCase();
      var field = size.form.elements[name];
      if (field instanceof RadioNodeList) { pick(size.form, name, size.dataset[key]); }
      else { put(size.form, name, size.dataset[key]); }
    });
  });

  document.addEventListener("click", function (event) {
    var drawing = event.target.closest && event.target.closest("svg.face-drawing[data-wall]");
    var form = drawing && document.querySelector("form .thing-fields");
    if (!form) { return; }
    form = form.closest("form");
    var at = new DOMPoint(event.clientX, event.clientY)
      .matrixTransform(drawing.getScreenCTM().inverse());
    var zero = drawing.dataset.zero.split(" ");
    var along = (at.x - Number(zero[0])) * Number(drawing.dataset.per);
    var up = (Number(zero[1]) - at.y) * Number(drawing.dataset.per);
    if (along < 0 || up < 0) { return; }
    var metric = drawing.dataset.units === "mm";
    if (form.elements.across_distance) {
      pick(form, "across_origin", "left");
      pick(form, "across_to", "centre");
      pick(form, "up_origin", "floor");
      pick(form, "up_to", "centre");
      put(form, "across_distance", tape(along, metric));
      put(form, "up_distance", tape(up, metric));
    } else {
      put(form, "left", tape(along, metric));
    }
  });
})();
